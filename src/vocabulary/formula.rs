//! Formula masses: one table of atomic weights and a reader of formulas. Knows nothing of water.

/// Standard atomic weights of the elements 2021, abridged (Prohaska et al., Pure Appl. Chem. 94 (2022)
/// 573–600, Table 1; read in a public dataset copy: github.com/abuseki/georefdatar
/// data-raw/IUPAC__2021__Standard_atomic_weights_of_the_elements.xlsx, for the elements of water analysis;
/// Ag, Be, Co, Cr, Hg, I, Ni, Pt, Sb, Se, Sn from memory, held against a library in the tests).
const WEIGHTS: [(&str, f64); 38] = [
    ("Ag", 107.87),
    ("Al", 26.982),
    ("As", 74.922),
    ("B", 10.81),
    ("Ba", 137.33),
    ("Be", 9.0122),
    ("Br", 79.904),
    ("C", 12.011),
    ("Ca", 40.078),
    ("Cd", 112.41),
    ("Cl", 35.45),
    ("Co", 58.933),
    ("Cr", 51.996),
    ("Cu", 63.546),
    ("F", 18.998),
    ("Fe", 55.845),
    ("H", 1.008),
    ("Hg", 200.59),
    ("I", 126.90),
    ("K", 39.098),
    ("Li", 6.94),
    ("Mg", 24.305),
    ("Mn", 54.938),
    ("Mo", 95.95),
    ("N", 14.007),
    ("Na", 22.990),
    ("Ni", 58.693),
    ("O", 15.999),
    ("P", 30.974),
    ("Pb", 207.2),
    ("Pt", 195.08),
    ("S", 32.06),
    ("Sb", 121.76),
    ("Se", 78.971),
    ("Si", 28.085),
    ("Sn", 118.71),
    ("Sr", 87.62),
    ("Zn", 65.38),
];

/// The rest of the same table that an analyte needs, from memory, held against a library in the tests.
const MORE_WEIGHTS: [(&str, f64); 4] =
    [("Ti", 47.867), ("Tl", 204.38), ("U", 238.03), ("V", 50.942)];

/// g/mol; `None` for what is no element of the table.
fn weight(element: &str) -> Option<(&'static str, f64)> {
    WEIGHTS
        .iter()
        .chain(&MORE_WEIGHTS)
        .find(|(symbol, _)| *symbol == element)
        .copied()
}

/// Atoms of a formula without charge, in order of appearance.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Formula {
    atoms: Vec<(&'static str, u32)>,
}

impl Formula {
    /// Reads `CaCO3`, `P2O5`, `Ca(HCO3)2`. `None` when any part is no element of the table or no count.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let mut rest = text;
        let atoms = Self::group(&mut rest, 0)?;
        (rest.is_empty() && !atoms.is_empty()).then_some(Self { atoms })
    }

    fn group(rest: &mut &str, depth: u8) -> Option<Vec<(&'static str, u32)>> {
        let mut atoms: Vec<(&'static str, u32)> = Vec::new();
        while let Some(first) = rest.chars().next() {
            let inner = if first == '(' && depth < 4 {
                *rest = &rest[1..];
                let inner = Self::group(rest, depth + 1)?;
                *rest = rest.strip_prefix(')')?;
                inner
            } else if first.is_ascii_uppercase() {
                let two = rest
                    .get(..2)
                    .filter(|s| s.as_bytes()[1].is_ascii_lowercase());
                let symbol = two.unwrap_or(&rest[..1]);
                let (element, _) = weight(symbol)?;
                *rest = &rest[symbol.len()..];
                vec![(element, 1)]
            } else {
                break;
            };
            let times = Self::count(rest)?;
            for (element, n) in inner {
                let n = n.checked_mul(times)?;
                match atoms.iter_mut().find(|(e, _)| *e == element) {
                    Some((_, m)) => *m = m.checked_add(n)?,
                    None => atoms.push((element, n)),
                }
            }
        }
        Some(atoms)
    }

    fn count(rest: &mut &str) -> Option<u32> {
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        if digits == 0 {
            return Some(1);
        }
        let n = rest[..digits]
            .parse()
            .ok()
            .filter(|n| (1..1000).contains(n))?;
        *rest = &rest[digits..];
        Some(n)
    }

    /// g/mol.
    pub(crate) fn mass(&self) -> f64 {
        self.atoms
            .iter()
            .filter_map(|(element, n)| weight(element).map(|(_, w)| w * f64::from(*n)))
            .sum()
    }

    pub(crate) fn count_of(&self, element: &str) -> u32 {
        self.atoms
            .iter()
            .find(|(e, _)| *e == element)
            .map_or(0, |(_, n)| *n)
    }

    /// The element that the formula is about: the only one besides hydrogen and oxygen. `None` for
    /// water, oxygen, cyanide, salts.
    pub(crate) fn key_element(&self) -> Option<&'static str> {
        let mut keys = self.atoms.iter().filter(|(e, _)| !matches!(*e, "H" | "O"));
        match (keys.next(), keys.next()) {
            (Some((element, _)), None) => Some(element),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_are_sorted_and_unique() {
        assert!(WEIGHTS.is_sorted_by(|a, b| a.0 < b.0));
        assert!(MORE_WEIGHTS.is_sorted_by(|a, b| a.0 < b.0));
        assert!(
            MORE_WEIGHTS
                .iter()
                .all(|(e, _)| WEIGHTS.iter().all(|(f, _)| f != e))
        );
    }

    /// IUPAC 2021 abridged weights summed by hand.
    #[test]
    fn masses() {
        for (formula, mass) in [
            ("CaCO3", 100.086),
            ("HCO3", 61.016),
            ("NO3", 62.004),
            ("P2O5", 141.943),
            ("SO4", 96.056),
            ("H3BO3", 61.831),
            ("Ca(HCO3)2", 162.110),
        ] {
            let parsed = Formula::parse(formula).expect(formula);
            assert!(
                (parsed.mass() - mass).abs() < 5e-4,
                "{formula} {}",
                parsed.mass()
            );
        }
    }

    /// The second route: a general-purpose library of the elements.
    #[test]
    fn weights_agree_with_a_library_of_the_elements() {
        for (element, weight) in WEIGHTS.iter().chain(&MORE_WEIGHTS) {
            let known = mendeleev::Element::iter()
                .find(|e| e.symbol() == *element)
                .map(|e| f64::from(e.atomic_weight()))
                .expect("an element");
            // Abridged to five digits, or to the digits that nature leaves certain.
            assert!(
                (weight / known - 1.0).abs() < 6e-5,
                "{element}: {weight} or {known}"
            );
        }
    }

    #[test]
    fn err_what_is_no_formula_is_none() {
        for text in ["", "Xx", "caco3", "CO0", "Ca(", "Ca)", "NO3-", "3N", "N O"] {
            assert_eq!(Formula::parse(text), None, "{text}");
        }
    }
}
