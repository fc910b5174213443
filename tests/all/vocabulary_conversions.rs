//! Conversions held against published values, against other libraries, and against themselves.

use proptest::prelude::*;
use uom::si::f64::{Mass, Volume};
use uom::si::mass::{grain, kilogram, milligram};
use uom::si::volume::{gallon, gallon_imperial, liter};
use wellread::vocabulary::{AnalyteId, Basis, Refusal, Side, Unit, Vocabulary};

fn vocabulary() -> &'static Vocabulary {
    Vocabulary::built_in()
}

/// 'mg/L as N' as unit and basis.
fn unit(text: &str) -> (Unit, Option<Basis>) {
    vocabulary()
        .read_unit(text)
        .unwrap_or_else(|| panic!("no unit: {text}"))
}

fn worked(analyte: &str, number: f64, from: &str, to: &str) -> Result<f64, Refusal> {
    let id = vocabulary()
        .find(analyte)
        .unwrap_or_else(|| panic!("no analyte: {analyte}"));
    let (from, from_basis) = unit(from);
    let (to, to_basis) = unit(to);
    let side = |unit, basis| Side {
        unit,
        basis,
        temperature: None,
    };
    vocabulary()
        .work(
            id,
            number,
            side(&from, from_basis.as_ref()),
            side(&to, to_basis.as_ref()),
        )
        .map(|w| w.value)
}

/// Where each row comes from. 'calculated': from the atomic weights of IUPAC 2021 by separate arithmetic.
#[test]
fn published_conversions_to_one_part_in_ten_thousand() {
    let calculated =
        "calculated from IUPAC 2021 abridged atomic weights, Pure Appl. Chem. 94 (2022) 573";
    for (analyte, from, to, factor, source) in [
        // mg/L to meq/L
        (
            "calcium",
            "mg/L",
            "meq/L",
            0.0499,
            "Hem 1985, USGS WSP 2254 table 9 (from memory)",
        ),
        ("calcium", "mg/L", "meq/L", 2.0 / 40.078, calculated),
        (
            "magnesium",
            "mg/L",
            "meq/L",
            0.08229,
            "Hem 1985, USGS WSP 2254 table 9 (from memory)",
        ),
        ("sodium", "mg/L", "meq/L", 0.043497, calculated),
        ("potassium", "mg/L", "meq/L", 0.025577, calculated),
        ("ammonium", "mg/L as NH4", "meq/L", 0.055436, calculated),
        ("iron", "mg/L", "meq/L", 0.035813, calculated),
        ("manganese", "mg/L", "meq/L", 0.036405, calculated),
        ("zinc", "mg/L", "meq/L", 0.030590, calculated),
        ("copper", "mg/L", "meq/L", 0.031473, calculated),
        ("aluminium", "mg/L", "meq/L", 0.111185, calculated),
        ("strontium", "mg/L", "meq/L", 0.022826, calculated),
        ("barium", "mg/L", "meq/L", 0.014563, calculated),
        ("lithium", "mg/L", "meq/L", 0.144092, calculated),
        ("bicarbonate", "mg/L as HCO3", "meq/L", 0.016389, calculated),
        ("carbonate", "mg/L as CO3", "meq/L", 0.033329, calculated),
        ("sulfate", "mg/L", "meq/L", 0.020821, calculated),
        ("chloride", "mg/L", "meq/L", 0.028209, calculated),
        ("nitrate", "mg/L as NO3", "meq/L", 0.016128, calculated),
        ("nitrite", "mg/L as NO2", "meq/L", 0.021737, calculated),
        ("fluoride", "mg/L", "meq/L", 0.052637, calculated),
        ("bromide", "mg/L", "meq/L", 0.012515, calculated),
        ("hydroxide", "mg/L as OH", "meq/L", 0.058799, calculated),
        // bases
        ("nitrate", "mg/L as N", "mg/L as NO3", 4.4266, calculated),
        ("ammonium", "mg/L as N", "mg/L as NH4", 1.2879, calculated),
        ("ammonium", "mg/L as NH3", "mg/L as N", 0.82244, calculated),
        ("nitrite", "mg/L as N", "mg/L as NO2", 3.2844, calculated),
        ("phosphate", "mg/L as P", "mg/L as PO4", 3.0661, calculated),
        ("phosphate", "mg/L as P", "mg/L as P2O5", 2.2913, calculated),
        ("potassium", "mg/L", "mg/L as K2O", 1.2046, calculated),
        ("sulfate", "mg/L as S", "mg/L as SO4", 2.9961, calculated),
        ("sulfate", "mg/L as S", "mg/L as SO3", 2.4971, calculated),
        ("calcium", "mg/L", "mg/L as CaO", 1.3992, calculated),
        ("calcium", "mg/L", "mg/L as CaCO3", 2.4973, calculated),
        (
            "hardness_calcium",
            "mg/L as CaO",
            "mg/L as CaCO3",
            1.7848,
            calculated,
        ),
        ("magnesium", "mg/L", "mg/L as MgO", 1.6583, calculated),
        ("magnesium", "mg/L", "mg/L as CaCO3", 4.1179, calculated),
        ("silica", "mg/L as Si", "mg/L as SiO2", 2.1393, calculated),
        ("boron", "mg/L", "mg/L as H3BO3", 5.7198, calculated),
        (
            "alkalinity",
            "mg/L as CaCO3",
            "mg/L as HCO3",
            1.2193,
            calculated,
        ),
        (
            "bicarbonate",
            "mg/L as HCO3",
            "mg/L as CaCO3",
            0.82016,
            "USGS WRI 02-4045 table 4 after Hem: 0.8202",
        ),
        // hardness and alkalinity
        (
            "hardness",
            "°dH",
            "mg/L as CaCO3",
            17.848,
            "1 °dH = 10 mg/L CaO, wikisum.wiki/wiki/DGH",
        ),
        (
            "hardness",
            "°dH",
            "mmol/L",
            0.178326,
            "1 °dH = 10 mg/L CaO, wikisum.wiki/wiki/DGH",
        ),
        (
            "hardness",
            "°fH",
            "mg/L as CaCO3",
            10.0,
            "AgroParisTech teaching page, chimactiv.agroparistech.fr",
        ),
        (
            "hardness",
            "°e",
            "mg/L as CaCO3",
            14.254,
            "1 grain an imperial gallon, sizes.com/units/clark_degree.htm",
        ),
        (
            "hardness",
            "gpg",
            "mg/L as CaCO3",
            17.118,
            "1 grain a US gallon, by definition",
        ),
        ("hardness", "mmol/L", "°fH", 10.0086, calculated),
        ("hardness", "mmol/L", "°e", 7.0217, calculated),
        ("hardness", "meq/L", "mg/L as CaCO3", 50.043, calculated),
        (
            "hardness_carbonate",
            "°dH",
            "meq/L",
            0.35665,
            "encnc.com/d515195.html",
        ),
        (
            "alkalinity",
            "mmol/L",
            "meq/L",
            1.0,
            "KS4,3 in mmol/L is meq/L (from memory, DIN 38409-7)",
        ),
        ("alkalinity", "mmol/L as CaCO3", "meq/L", 2.0, calculated),
        ("alkalinity", "meq/L", "°dH", 2.8039, calculated),
        ("alkalinity", "°fH", "meq/L", 0.199828, calculated),
        // conductivity
        (
            "conductivity",
            "mS/m",
            "µS/cm",
            10.0,
            "Standard Methods 2510, copy at studylib.net/doc/18119572",
        ),
        (
            "conductivity",
            "dS/m",
            "µS/cm",
            1000.0,
            "Standard Methods 2510, copy at studylib.net/doc/18119572",
        ),
        (
            "conductivity",
            "mmho/cm",
            "mS/cm",
            1.0,
            "Standard Methods 2510, copy at studylib.net/doc/18119572",
        ),
    ] {
        let got = worked(analyte, 1.0, from, to);
        let close = got
            .as_ref()
            .is_ok_and(|got| (got / factor - 1.0).abs() < 1.01e-4);
        assert!(
            close,
            "{analyte} {from} to {to}: {got:?}, published {factor} ({source})"
        );
    }
}

/// Published worked examples round equivalent weights; half a percent.
#[test]
fn published_worked_examples() {
    for (analyte, number, from, to, expected, source) in [
        (
            "calcium",
            3.3,
            "meq/L",
            "ppm",
            66.0,
            "studylib.net/doc/13976279, It's the water",
        ),
        (
            "sodium",
            50.0,
            "ppm",
            "meq/L",
            2.17,
            "studylib.net/doc/13976279, It's the water",
        ),
        (
            "nitrate",
            50.0,
            "mg/L as NO3",
            "mg/L as N",
            11.3,
            "drinking-water limit in both bases",
        ),
        (
            "calcium",
            200.0,
            "ppm",
            "meq/L",
            10.0,
            "B. Faber, ucanr.edu blog",
        ),
        (
            "alkalinity",
            47.9,
            "mg/L as CaCO3",
            "mg/L as HCO3",
            58.4,
            "biralleebrewing.com 2021/05",
        ),
        (
            "alkalinity",
            5.0,
            "meq/L",
            "mg/L as HCO3",
            305.0,
            "slideplayer.com/amp/8310469",
        ),
        (
            "hardness",
            0.6965,
            "mmol/L",
            "°dH",
            3.906,
            "wasserwerk-perlenbach.de",
        ),
        (
            "alkalinity",
            0.58,
            "mmol/L",
            "°dH",
            1.626,
            "wasserwerk-perlenbach.de",
        ),
    ] {
        let got = worked(analyte, number, from, to).unwrap();
        assert!(
            (got / expected - 1.0).abs() < 5e-3,
            "{number} {from}: {got} not {expected} ({source})"
        );
    }
}

#[test]
fn err_what_cannot_be_converted_is_refused() {
    for (analyte, from, refusal) in [
        ("nitrate", "mg/L", Refusal::BasisMissing),
        ("ammonium", "mg/L", Refusal::BasisMissing),
        ("phosphate", "mg/L", Refusal::BasisMissing),
        ("alkalinity", "mg/L", Refusal::BasisMissing),
        ("hardness", "mg/L", Refusal::BasisMissing),
        ("silica", "mg/L", Refusal::BasisMissing),
        ("phosphate", "meq/L", Refusal::BasisMissing),
        ("hardness_carbonate", "mmol/L", Refusal::BasisMissing),
        ("nitrate", "mg/L as P", Refusal::BasisUnfit),
        ("nitrate", "meq/L as P", Refusal::BasisUnfit),
        ("alkalinity", "mg/L as N", Refusal::BasisUnfit),
        ("bicarbonate", "mg/L as CO3", Refusal::BasisUnfit),
        ("dissolved_solids", "mg/L as CaCO3", Refusal::BasisUnfit),
        ("silica", "meq/L", Refusal::UnitUnfit),
        ("nitrate", "µS/cm", Refusal::UnitUnfit),
        ("nitrate", "°dH", Refusal::UnitUnfit),
        ("turbidity", "FAU", Refusal::UnitUnfit),
        ("temperature", "mg/L", Refusal::UnitUnfit),
        ("dissolved_oxygen", "%", Refusal::UnitUnfit),
        ("conductivity", "mg/L", Refusal::UnitUnfit),
        ("e_coli", "mg/L", Refusal::UnitUnfit),
        ("dissolved_solids", "meq/L", Refusal::UnitUnfit),
        ("iron", "°F", Refusal::UnitUnfit),
    ] {
        let id = vocabulary().find(analyte).unwrap();
        let (unit, basis) = unit(from);
        let got = vocabulary().convert(id, &unit, basis.as_ref(), None);
        assert_eq!(got, Err(refusal), "{analyte} in {from}");
    }
}

#[test]
fn a_degree_f_is_french_for_hardness_and_fahrenheit_for_temperature() {
    assert!((worked("hardness", 25.0, "°F", "mg/L as CaCO3").unwrap() - 250.0).abs() < 1e-9);
    assert!((worked("temperature", 212.0, "°F", "°C").unwrap() - 100.0).abs() < 1e-9);
}

#[test]
fn conductivity_at_another_temperature() {
    let id = vocabulary().find("conductivity").unwrap();
    let (unit, _) = unit("µS/cm");
    for (t, factor) in [
        (Some(20.0), 1.116),
        (Some(25.0), 1.0),
        (None, 1.0),
        (Some(10.0), 1.428),
    ] {
        let got = vocabulary().convert(id, &unit, None, t).unwrap();
        assert!((got.factor - factor).abs() < 1e-12, "{t:?}");
        assert_eq!(
            got.note.is_none(),
            t == Some(25.0),
            "{t:?}: the correction must be told"
        );
    }
    assert_eq!(
        vocabulary().convert(id, &unit, None, Some(40.0)),
        Err(Refusal::UnitUnfit)
    );
}

/// The second route for degrees of hardness: a general-purpose unit library.
#[test]
fn degrees_of_hardness_agree_with_a_unit_library() {
    for (text, mass, volume) in [
        ("gpg", Mass::new::<grain>(1.0), Volume::new::<gallon>(1.0)),
        (
            "°e",
            Mass::new::<grain>(1.0),
            Volume::new::<gallon_imperial>(1.0),
        ),
    ] {
        let expected = mass.get::<milligram>() / volume.get::<liter>();
        let got = worked("hardness", 1.0, text, "mg/L as CaCO3").unwrap();
        assert!(
            (got / expected - 1.0).abs() < 1e-6,
            "{text}: {got} not {expected}"
        );
    }
}

/// And for plain mass units.
#[test]
fn mass_units_agree_with_a_unit_library() {
    let per_kg = Mass::new::<kilogram>(1.0).get::<milligram>();
    for (text, grams_per_litre) in [
        ("g/L", 1.0),
        ("mg/L", 1e-3),
        ("µg/L", 1e-6),
        ("ng/L", 1e-9),
        ("g/m3", 1e-3),
        ("mg/m3", 1e-6),
        ("mg/mL", 1.0),
    ] {
        let expected = grams_per_litre * per_kg / 1000.0;
        let got = worked("sodium", 1.0, text, "mg/L").unwrap();
        assert!(
            (got / expected - 1.0).abs() < 1e-12,
            "{text}: {got} not {expected}"
        );
    }
}

/// Every unit of an analyte with every basis that makes it convertible.
fn sides(id: AnalyteId) -> Vec<(Unit, Option<Basis>)> {
    let analyte = vocabulary().analyte(id);
    let mut found = Vec::new();
    for code in &analyte.units {
        let unit = vocabulary().unit(code).unwrap();
        for basis in [None].into_iter().chain(analyte.bases.iter().map(Some)) {
            if vocabulary().convert(id, unit, basis, Some(25.0)).is_ok() {
                found.push((unit.clone(), basis.cloned()));
            }
        }
    }
    found
}

fn ids() -> impl Iterator<Item = AnalyteId> {
    (0u16..).map(AnalyteId).take(vocabulary().analytes().len())
}

#[test]
fn every_usual_unit_and_basis_reaches_the_canonical_one() {
    for id in ids() {
        let analyte = vocabulary().analyte(id);
        let found = sides(id);
        for code in &analyte.units {
            assert!(
                found.iter().any(|(u, _)| u.code == code),
                "{} in {code}",
                analyte.code
            );
        }
        for basis in &analyte.bases {
            assert!(
                found.iter().any(|(_, b)| b.as_ref() == Some(basis)),
                "{} as {basis}",
                analyte.code
            );
        }
        let canonical = vocabulary().unit(&analyte.unit).unwrap();
        let own = vocabulary()
            .convert(id, canonical, analyte.basis.as_ref(), Some(25.0))
            .unwrap();
        assert_eq!((own.factor, own.offset), (1.0, 0.0), "{}", analyte.code);
    }
}

proptest! {
    #[test]
    fn there_and_back_is_identity(at in 0usize..82, a in 0usize..64, b in 0usize..64, number in 1e-6f64..1e6) {
        let id = AnalyteId(u16::try_from(at).unwrap());
        let sides = sides(id);
        let (from, to) = (&sides[a % sides.len()], &sides[b % sides.len()]);
        let work = |n: f64, x: &(Unit, Option<Basis>), y: &(Unit, Option<Basis>)| {
            let make = |s: &(Unit, Option<Basis>)| (s.0.clone(), s.1.clone());
            let (x, y) = (make(x), make(y));
            vocabulary().work(
                id,
                n,
                Side { unit: &x.0, basis: x.1.as_ref(), temperature: Some(25.0) },
                Side { unit: &y.0, basis: y.1.as_ref(), temperature: Some(25.0) },
            ).unwrap().value
        };
        let back = work(work(number, from, to), to, from);
        // A temperature's zero moves, so its error is of the size of the offset.
        let scale = if from.0.offset != 0.0 || to.0.offset != 0.0 { number.abs() + 300.0 } else { number };
        prop_assert!((back - number).abs() <= 1e-12 * scale, "{number} became {back}");
    }

    #[test]
    fn by_way_of_a_third_unit_is_the_same(at in 0usize..82, a in 0usize..64, b in 0usize..64, c in 0usize..64, number in 1e-3f64..1e4) {
        let id = AnalyteId(u16::try_from(at).unwrap());
        let sides = sides(id);
        let pick = |i: usize| sides[i % sides.len()].clone();
        let (a, b, c) = (pick(a), pick(b), pick(c));
        let work = |n: f64, x: &(Unit, Option<Basis>), y: &(Unit, Option<Basis>)| {
            vocabulary().work(
                id,
                n,
                Side { unit: &x.0, basis: x.1.as_ref(), temperature: Some(25.0) },
                Side { unit: &y.0, basis: y.1.as_ref(), temperature: Some(25.0) },
            ).unwrap().value
        };
        let direct = work(number, &a, &c);
        let by_way = work(work(number, &a, &b), &b, &c);
        let scale = if a.0.offset != 0.0 || b.0.offset != 0.0 || c.0.offset != 0.0 { direct.abs() + 600.0 } else { direct.abs() };
        prop_assert!((direct - by_way).abs() <= 1e-11 * scale, "{direct} or {by_way}");
    }
}
