"""The invented waters of the scenario: ion sets that balance and whose conductivity fits.

One line a source; chloride is chosen so that the charges balance to the percentage given, and the
conductivity follows from the ions. Each taking of a sample scatters the ions by a few percent.
"""
import math
import random
import zlib

# IUPAC 2021 abridged standard atomic weights.
ATOM = {"H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998, "Na": 22.990, "Mg": 24.305,
        "P": 30.974, "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078, "Mn": 54.938, "Fe": 55.845, "Cu": 63.546, "Zn": 65.38}
MASS = {ion: ATOM[ion] for ion in ("Ca", "Mg", "Na", "K", "Cl", "N", "P", "S", "B", "Fe", "Mn", "Zn", "Cu")} | {
    "HCO3": ATOM["H"] + ATOM["C"] + 3 * ATOM["O"], "SO4": ATOM["S"] + 4 * ATOM["O"], "NO3": ATOM["N"] + 3 * ATOM["O"],
    "NH4": ATOM["N"] + 4 * ATOM["H"], "PO4": ATOM["P"] + 4 * ATOM["O"], "CaCO3": ATOM["Ca"] + ATOM["C"] + 3 * ATOM["O"],
    "CaO": ATOM["Ca"] + ATOM["O"]}
CHARGE = {"Ca": 2, "Mg": 2, "Na": 1, "K": 1, "NH4": 1, "HCO3": -1, "Cl": -1, "SO4": -2, "NO3": -1, "PO4": -1}
# Equivalent conductances at 25 °C, S·cm²/eq, from memory; they only make the invented figures believable.
MOBILITY = {"Ca": 59.5, "Mg": 53.1, "Na": 50.1, "K": 73.5, "NH4": 73.5, "HCO3": 44.5, "Cl": 76.4, "SO4": 80.0, "NO3": 71.4, "PO4": 33.0}

# mg/L; bal is the wanted charge balance in percent.
WATERS = {
    "borehole east": dict(pH=7.2, Ca=121, Mg=8.6, Na=19, K=2.2, HCO3=329, SO4=33, NO3=24, Fe=0.34, Mn=0.11, B=0.04, Zn=0.012, Cu=0.004, bal=1.2),
    "rain tank": dict(pH=6.3, Ca=3.8, Mg=0.7, Na=3.1, K=0.6, NH4=0.22, HCO3=10.5, SO4=3.6, NO3=1.9, Fe=0.008, Mn=0.004, B=0.01, Zn=0.21, Cu=0.009, bal=-1.4),
    "mains": dict(pH=7.5, Ca=64, Mg=6.1, Na=18, K=2.0, HCO3=172, SO4=29, NO3=13, Fe=0.01, Mn=0.002, B=0.02, Zn=0.018, Cu=0.035, bal=1.6),
    "pond": dict(pH=7.9, Ca=49, Mg=11.5, Na=33, K=6.8, NH4=0.31, HCO3=141, SO4=52, NO3=7.4, Fe=0.16, Mn=0.05, B=0.06, Zn=0.01, Cu=0.003, bal=0.9),
    "brunnen 1": dict(pH=7.3, Ca=96, Mg=21, Na=14, K=1.8, HCO3=341, SO4=44, NO3=18, Fe=0.05, Mn=0.02, B=0.03, Zn=0.02, Cu=0.01, bal=-0.8),
    "brunnen 2": dict(pH=7.0, Ca=134, Mg=27, Na=23, K=3.1, HCO3=402, SO4=92, NO3=41, Fe=0.92, Mn=0.31, B=0.05, Zn=0.03, Cu=0.01, bal=1.0),
    "regenbecken": dict(pH=6.6, Ca=5.2, Mg=0.9, Na=2.4, K=1.1, NH4=0.18, HCO3=16.5, SO4=4.1, NO3=1.2, Fe=0.02, Mn=0.01, B=0.01, Zn=0.11, Cu=0.01, bal=1.9),
    "stadtwasser": dict(pH=7.6, Ca=58, Mg=12.4, Na=11, K=1.6, HCO3=196, SO4=28, NO3=9.1, Fe=0.01, Mn=0.003, B=0.02, Zn=0.02, Cu=0.05, bal=-1.1),
    "bassin": dict(pH=6.9, Ca=8.4, Mg=1.9, Na=7.6, K=1.4, NH4=0.12, HCO3=24, SO4=7.7, NO3=2.2, PO4=0.3, Fe=0.03, Mn=0.01, B=0.02, Zn=0.14, Cu=0.01, bal=1.3),
    "bron": dict(pH=7.1, Ca=88, Mg=16, Na=97, K=7.1, NH4=1.6, HCO3=318, SO4=21, NO3=0.9, PO4=1.1, Fe=4.6, Mn=0.42, B=0.13, Zn=0.02, Cu=0.003, bal=0.7),
    "drain": dict(pH=5.9, Ca=196, Mg=52, Na=64, K=205, NH4=3.8, HCO3=42, SO4=318, NO3=742, PO4=86, Fe=1.4, Mn=0.35, B=0.62, Zn=0.48, Cu=0.09, bal=1.1),
    "pozo norte": dict(pH=7.6, Ca=142, Mg=61, Na=168, K=6.4, HCO3=287, SO4=301, NO3=38, Fe=0.06, Mn=0.02, B=0.41, Zn=0.02, Cu=0.01, bal=1.4),
    "balsa": dict(pH=8.1, Ca=79, Mg=34, Na=92, K=5.2, HCO3=188, SO4=166, NO3=11, Fe=0.04, Mn=0.01, B=0.22, Zn=0.01, Cu=0.01, bal=-0.9),
    "red": dict(pH=7.7, Ca=71, Mg=24, Na=52, K=3.3, HCO3=176, SO4=112, NO3=8.2, Fe=0.012, Mn=0.01, B=0.11, Zn=0.03, Cu=0.06, bal=1.7),
    "acequia": dict(pH=8.0, Ca=86, Mg=29, Na=71, K=4.6, HCO3=203, SO4=148, NO3=15, Fe=0.21, Mn=0.04, B=0.15, Zn=0.02, Cu=0.003, bal=0.5),
}


def significant(number, digits=3):
    return round(number, digits - 1 - math.floor(math.log10(abs(number))))


def sums(ions):
    charges = {ion: ions.get(ion, 0) / MASS[ion] * z for ion, z in CHARGE.items()}
    return sum(c for c in charges.values() if c > 0), -sum(c for c in charges.values() if c < 0)


def conductivity(ions):
    """µS/cm at 25 °C: conductances of the ions, lowered for the ionic strength (Davies form)."""
    eq = {ion: ions.get(ion, 0) / MASS[ion] * abs(z) for ion, z in CHARGE.items()}
    strength = sum(ions.get(ion, 0) / MASS[ion] * z * z for ion, z in CHARGE.items()) / 2000
    lowering = 10 ** (-0.5 * 2 * (math.sqrt(strength) / (1 + math.sqrt(strength)) - 0.3 * strength))
    return sum(MOBILITY[ion] * eq[ion] for ion in eq) * lowering


def taken(source, label):
    """The water of one source as one sample of it: always the same for the same label."""
    chance = random.Random(zlib.crc32(f"{source} {label}".encode()))
    base = WATERS[source]
    water = {k: significant(v * chance.uniform(0.95, 1.05)) for k, v in base.items() if k not in ("pH", "bal")}
    water["pH"] = round(base["pH"] + chance.uniform(-0.1, 0.1), 1)
    cations, anions = sums(water)
    wanted = base["bal"] / 100
    chloride = (cations * (1 - wanted) / (1 + wanted) - anions) * MASS["Cl"]
    assert chloride > 0.5, (source, chloride)
    water["Cl"] = significant(chloride)
    water["EC"] = significant(conductivity(water) * chance.uniform(0.985, 1.015))
    return water


if __name__ == "__main__":
    for name in WATERS:
        w = taken(name, "2026")
        c, a = sums(w)
        print(f"{name:14} Cl {w['Cl']:7} EC {w['EC']:7} balance {100 * (c - a) / (c + a):5.2f} %  cations {c:.2f}")
