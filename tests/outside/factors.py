"""Every factor that the program applied to samples/, once more by molmass and pint.

usage: factors.py PROGRAM DATASET
A (unit, basis) that this script does not understand is a failure, so that none is left out unseen.
"""
import re
import sys
import tomllib

import molmass
import pandas
import pint

_, _, dataset = sys.argv
registry = pint.UnitRegistry()

# Analyte: formula that the canonical mg/L counts, atom shared with other bases, charges of one formula.
SPECIES = {
    "alkalinity": ("CaCO3", None, 2), "hardness": ("CaCO3", None, 2), "bicarbonate": ("HCO3", "C", 1), "calcium": ("Ca", "Ca", 2),
    "magnesium": ("Mg", "Mg", 2), "sodium": ("Na", "Na", 1), "potassium": ("K", "K", 1), "ammonium": ("NH4", "N", 1), "chloride": ("Cl", "Cl", 1),
    "sulfate": ("SO4", "S", 2), "nitrate": ("NO3", "N", 1), "phosphate": ("PO4", "P", 3), "boron": ("B", "B", None), "iron": ("Fe", "Fe", 2),
    "manganese": ("Mn", "Mn", 2), "zinc": ("Zn", "Zn", 2), "copper": ("Cu", "Cu", 2),
}


def mass(formula):
    return molmass.Formula(formula).mass


def unit(text):
    """What the unit's text is, for pint; the words about temperature and colonies put aside."""
    text = re.sub(r"\(.*?\)|\b(at|bei|bij)?\s*25\s*°?\s*C\b", "", text).strip()
    text = text.replace("µ", "u").replace("μ", "u").replace("uS", "microsiemens").replace("mS", "millisiemens")
    return re.sub(r"/l\b", "/L", text)


def factor(analyte, unit_text, basis_text):
    text = unit_text if isinstance(unit_text, str) else ""
    basis = basis_text if isinstance(basis_text, str) else ""
    if analyte in ("ph", "e_coli", "coliforms"):
        return 1.0
    if analyte == "conductivity":
        return registry.Quantity(1, unit(text)).to("microsiemens/cm").magnitude
    formula, _, charges = SPECIES[analyte]
    if "°dH" in text:
        # 10 mg/L CaO, as German practice defines the degree.
        return 10 / mass("CaO") * mass("CaCO3")
    found = registry.Quantity(1, unit(re.sub(r"\bas \w+", "", text)))
    if found.check("[mass]/[length]**3"):
        plain = found.to("mg/L").magnitude
        counted = re.search(r"\b(CaCO3|NO3|N|SO4|S|PO4|P)\b", basis or " ".join(re.findall(r"as (\w+)", text)))
        if counted is None or counted[1] == formula:
            return plain
        return plain * mass(formula) / mass(counted[1])
    assert found.check("[substance]/[length]**3"), (analyte, unit_text)
    # Acid capacity counts protons: a mole of it is half a mole of CaCO3.
    per_mole = mass(formula) / 2 if analyte == "alkalinity" else mass(formula)
    return found.to("mmol/L").magnitude * per_mole


def stated(row):
    """Unit and basis as the report has them, or as its mapping says where the report is silent."""
    if row.unit_from != "mapping":
        return row.unit_text, row.basis_text
    with open(f"mappings/{row.mapping}.toml", "rb") as file:
        said = tomllib.load(file)["labels"][row.label_text]
    return said.get("unit"), said.get("basis")


table = pandas.read_parquet(f"{dataset}/results.parquet")
seen = table[["analyte", "unit_text", "basis_text", "factor", "mapping", "label_text", "unit_from"]].drop_duplicates()
wrong = []
for row in seen.itertuples():
    try:
        expected = factor(row.analyte, *stated(row))
    except Exception as error:
        wrong.append(f"{row}: not understood: {error!r}")
        continue
    # molmass has other tables of atomic weights; 1 part in 10,000 tells every mistake of basis.
    if not abs(row.factor - expected) <= 1e-4 * expected:
        wrong.append(f"{row}: expected {expected}")
assert not wrong, "\n".join(wrong)
print(f"{len(seen)} factors by a second route")
