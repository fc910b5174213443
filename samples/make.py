#!/usr/bin/env python3
"""Makes the reports of this folder and the truth about them, `tests/golden/expected.csv`.

    python3 -m venv /tmp/v && /tmp/v/bin/pip install openpyxl==3.1.5 xlwt==1.3.0 odfpy==1.4.1
    /tmp/v/bin/python samples/make.py

Everything is invented (see README.md). The truth is written from the same figures that are printed
in the reports, converted here by separate arithmetic; the program has no part in it.
"""
import csv
import datetime
import pathlib

import workbooks
from waters import MASS, significant, taken
from workbooks import Sheet

HERE = pathlib.Path(__file__).resolve().parent
HALF_CACO3 = MASS["CaCO3"] / 2

# How an analyte stands in a report: code and canonical unit, the figure of the water in that unit,
# and what one unit of the report is worth in it. A German degree is 10 mg/L CaO.
def mass(code, ion, worth=1.0):
    return code, "mg/L", lambda w: w.get(ion), worth


KINDS = {
    "pH": ("ph", "[pH]", lambda w: w["pH"], 1.0),
    "EC": ("conductivity", "uS/cm", lambda w: w["EC"], 1.0),
    "EC mS": ("conductivity", "uS/cm", lambda w: w["EC"], 1000.0),
    "alk": ("alkalinity", "mg/L", lambda w: w["HCO3"] / MASS["HCO3"] * HALF_CACO3, 1.0),
    "KS43": ("alkalinity", "mg/L", lambda w: w["HCO3"] / MASS["HCO3"] * HALF_CACO3, HALF_CACO3),
    "GH": ("hardness", "mg/L", lambda w: (w["Ca"] / MASS["Ca"] + w["Mg"] / MASS["Mg"]) * MASS["CaCO3"], 10 / MASS["CaO"] * MASS["CaCO3"]),
    "NO3-N": mass("nitrate", "NO3", MASS["NO3"] / MASS["N"]),
    "E. coli": ("e_coli", "[CFU]/(100.mL)", lambda w: w.get("E. coli"), 1.0),
    "coliforms": ("coliforms", "[CFU]/(100.mL)", lambda w: w.get("coliforms"), 1.0),
}
for ion, code in {"Ca": "calcium", "Mg": "magnesium", "Na": "sodium", "K": "potassium", "NH4": "ammonium", "HCO3": "bicarbonate",
                  "Cl": "chloride", "SO4": "sulfate", "NO3": "nitrate", "PO4": "phosphate", "Fe": "iron", "Mn": "manganese",
                  "B": "boron", "Zn": "zinc", "Cu": "copper"}.items():
    KINDS[ion] = mass(code, ion)
    KINDS[ion + " mmol"] = mass(code, ion, MASS[ion])
    KINDS[ion + " umol"] = mass(code, ion, MASS[ion] / 1000)
    KINDS[ion + " ug"] = mass(code, ion, 0.001)
# What the laboratories can see, mg/L.
LIMITS = {"NH4": 0.05, "NO3": 0.5, "PO4": 0.2, "Fe": 0.02, "Mn": 0.005, "B": 0.02, "Zn": 0.005, "Cu": 0.005}

TRUTH = []


class Sample:
    def __init__(self, ref, source, on, **more):
        self.ref, self.source, self.on = ref, source, datetime.date.fromisoformat(on)
        self.water = taken(source.lower(), on[:7]) | more

    def figure(self, kind):
        """(sign, number) as the laboratory prints it; sign is '<' or ''. None: not measured."""
        _, _, of, worth = KINDS[kind]
        canonical = of(self.water)
        if canonical is None:
            return None
        ion = kind.split()[0]
        if canonical < LIMITS.get(ion, 0):
            return "<", significant(LIMITS[ion] / worth, 2)
        return "", canonical if kind == "pH" else significant(canonical / worth)


def plain(number, comma=False):
    text = f"{number:.10f}".rstrip("0").rstrip(".")
    return text.replace(".", ",") if comma else text


class Report:
    """One file: its sheets, and the truth about each cell that holds a result."""

    def __init__(self, file, form="number", comma=False):
        self.file, self.form, self.comma, self.sheets = file, form, comma or form == "comma", []

    def sheet(self, name=""):
        self.sheets.append(Sheet(name))
        return self.sheets[-1]

    def write(self, number):
        return number if self.form == "number" else plain(number, self.comma)

    def result(self, sheet, row, col, kind, sample, figure=None, show=None):
        """Puts a result and notes the truth. `show`: other text for the cell, as the laboratory has it."""
        figure = figure or sample.figure(kind)
        if figure is None:
            return
        sign, number = figure
        shown = show or (sign + plain(number, self.comma) if sign else self.write(number))
        sheet.put(row, col, shown)
        self.truth(sheet, row, col, kind, sample, sign, number)

    def truth(self, sheet, row, col, kind, sample, sign, number):
        code, unit, _, worth = KINDS[kind]
        censored = {"": "", "<": "below", ">": "above", "absent": "absent"}[sign]
        value = "" if censored == "absent" else repr(number * worth)
        TRUTH.append((self.file, sheet.name, row, col, code, value, unit, censored, sample.ref, sample.on.isoformat()))

    def save(self, **how):
        path = HERE / self.file
        kind = path.suffix[1:]
        if kind in ("csv", "tsv", "txt"):
            (sheet,) = self.sheets
            workbooks.text(path, sheet, **how)
        else:
            getattr(workbooks, kind)(path, self.sheets)


def german(day):
    return day.strftime("%d.%m.%Y")


# --- Brackenmoor Water Bench, English: analytes down, limits and traffic lights beside -----------
def brackenmoor(file, number, issued, samples, note=None, slip=None, blot=None):
    report = Report(file)
    sheet = report.sheet("Results")
    sheet.put(0, 0, "Brackenmoor Water Bench")
    sheet.merge(0, 0, 0, 8)
    sheet.row(1, ["Client:", "Thimblegrove Nursery", "", "Report no.:", number])
    sheet.row(2, ["Date of issue:", datetime.date.fromisoformat(issued)])
    sheet.put(3, 0, note)
    last = 3 + len(samples)
    sheet.put(4, 3, "Samples")
    sheet.merge(4, 3, 4, last - 1)
    sheet.row(5, ["Parameter", "Unit", "LOD"] + [s.ref for s in samples] + ["Guide", "Rating"])
    sheet.row(6, ["Sampled", "", ""] + [s.on for s in samples])
    sheet.row(7, ["Source", "", ""] + [s.source for s in samples])
    table = [("pH", "", "pH", "6.5-8.4", "green"), ("Electrical conductivity", "µS/cm at 25 °C", "EC", "<750", "amber"),
             ("Alkalinity (as CaCO3)", "mg/l", "alk", "<150", "amber"), ("Major ions",),
             ("Calcium", "mg/l", "Ca", "", ""), ("Magnesium", "mg/l", "Mg", "", ""), ("Sodium", "mg/l", "Na", "<70", "green"),
             ("Potassium", "mg/l", "K", "", ""), ("Chloride", "mg/l", "Cl", "<70", "green"), ("Sulphate", "mg/l", "SO4", "<100", "green"),
             ("Nitrate (as N)", "mg/l", "NO3-N", "<11.3", "green"), ("Nitrate (as NO3)", "mg/l", "NO3", "<50", "green"),
             ("Trace elements 1)",), ("Iron, total", "mg/l", "Fe", "<0.2", "amber"), ("Manganese", "mg/l", "Mn", "<0.1", "green"),
             ("Boron", "µg/l", "B ug", "<300", "green"), ("Zinc", "µg/l", "Zn ug", "<300", "green"), ("Copper", "µg/l", "Cu ug", "<200", "green")]
    for i, (label, *more) in enumerate(table):
        row = 8 + i
        sheet.put(row, 0, label)
        if not more:
            continue
        unit, kind, guide, verdict = more
        limit = LIMITS.get(kind.split()[0])
        sheet.row(row, [unit, limit and limit / KINDS[kind][3]], col=1)
        for j, sample in enumerate(samples):
            at = (sample.ref, kind)
            if label == "Nitrate (as NO3)":
                # The row above says the same in nitrogen: one measurement, one result.
                sheet.put(row, 3 + j, report.write(sample.figure(kind)[1]))
            elif blot and at == blot[0]:
                sheet.put(row, 3 + j, blot[1])
            elif slip and at == slip[0]:
                report.result(sheet, row, 3 + j, kind, sample, figure=("", slip[1]))
            else:
                report.result(sheet, row, 3 + j, kind, sample)
        sheet.row(row, [guide, verdict], col=last)
    sheet.put(9 + len(table), 0, "1) sub-contracted to another bench; green and amber: our own opinion for tomatoes under glass")
    report.save()


THIMBLEGROVE = ["Borehole East", "Rain tank", "Mains", "Pond"]
brackenmoor("brackenmoor-2025.xlsx", "BW-25-0093", "2025-03-24",
            [Sample(f"T25-0{i + 1}", s, "2025-03-11") for i, s in enumerate(THIMBLEGROVE)])
SPRING = [Sample(f"T26-0{i + 1}", s, "2026-03-17") for i, s in enumerate(THIMBLEGROVE)]
# The first issue lost the decimal point of one chloride; one iron cell was typed with letters.
LOST_POINT = float(plain(SPRING[0].figure("Cl")[1]).replace(".", ""))
brackenmoor("brackenmoor-2026.xlsx", "BW-26-0117-1", "2026-03-30", SPRING,
            slip=(("T26-01", "Cl"), LOST_POINT), blot=(("T26-04", "Fe"), "O.l7"))
brackenmoor("brackenmoor-2026-reissue.xlsx", "BW-26-0117-2", "2026-04-14", SPRING,
            note="replaces BW-26-0117-1: chloride of T26-01 corrected", blot=(("T26-04", "Fe"), "O.l7"))


# --- Wasserstube Hohenquell, German: samples down, units in a row of their own --------------------
def hohenquell_2025():
    report = Report("hohenquell-2025.csv", form="comma")
    sheet = report.sheet()
    sheet.row(0, ["Wasserstube Hohenquell"])
    sheet.row(1, ["Auftraggeber:", "Gärtnerei Wolkensteg"])
    sheet.row(2, ["Berichtsdatum:", "14.04.2025"])
    table = [("pH-Wert", "", "pH"), ("Leitfähigkeit bei 25 °C", "µS/cm", "EC"), ("Gesamthärte", "°dH", "GH"), ("Säurekapazität bis pH 4,3", "mmol/l", "KS43"),
             ("Calcium", "mg/l", "Ca"), ("Magnesium", "mg/l", "Mg"), ("Natrium", "mg/l", "Na"), ("Kalium", "mg/l", "K"), ("Ammonium", "mg/l", "NH4"),
             ("Chlorid", "mg/l", "Cl"), ("Sulfat", "mg/l", "SO4"), ("Nitrat", "mg/l", "NO3"), ("Eisen", "mg/l", "Fe"), ("Mangan", "mg/l", "Mn")]
    # Nobody knows what a 'Glanzzahl' is; the laboratory prints it all the same.
    sheet.row(4, ["Labornummer", "Probe", "Entnahmedatum"] + [t[0] for t in table] + ["Glanzzahl"])
    sheet.row(5, ["", "", ""] + [t[1] for t in table])
    samples = [Sample("Brunnen 1", "brunnen 1", "2025-04-02"), Sample("Brunnen 2", "brunnen 2", "2025-04-02"),
               Sample("Regenbecken", "regenbecken", "2025-04-02", NH4=0.31), Sample("Stadtwasser", "stadtwasser", "2025-04-03")]
    samples[0].water["NH4"] = 0.0
    for i, sample in enumerate(samples):
        row = 6 + i
        sheet.row(row, [f"H25-041{i + 1}", sample.ref, german(sample.on)])
        for j, (_, _, kind) in enumerate(table):
            if kind == "NH4" and sample.water.get("NH4") == 0.0:
                report.result(sheet, row, 3 + j, kind, sample, figure=("absent", 0), show="n.n.")
            else:
                report.result(sheet, row, 3 + j, kind, sample)
        sheet.put(row, 3 + len(table), str(7 - i))
    means = [sum(KINDS[k][2](s.water) / KINDS[k][3] for s in samples) / 4 for _, _, k in table if k not in ("NH4",)]
    row = ["", "Mittelwert", ""]
    for _, _, kind in table:
        row.append("" if kind == "NH4" else plain(significant(means.pop(0)), True))
    sheet.row(10, row)
    sheet.row(12, ["n.n. = nicht nachweisbar"])
    report.save(separator=";", encoding="cp1252", ends="\r\n")


def hohenquell_2026():
    report = Report("hohenquell-2026.xls", comma=True)
    sheet = report.sheet("Analysen")
    sheet.row(0, ["Wasserstube Hohenquell"])
    sheet.row(1, ["Auftraggeber:", "Gärtnerei Wolkensteg"])
    first = [("pH-Wert", "pH"), ("Leitfähigkeit (25 °C) µS/cm", "EC"), ("Gesamthärte °dH", "GH"), ("KS4,3 mmol/l", "KS43"), ("Calcium mg/l", "Ca"),
             ("Magnesium mg/l", "Mg"), ("Natrium mg/l", "Na"), ("Kalium mg/l", "K"), ("Chlorid mg/l", "Cl"), ("Sulfat mg/l", "SO4"), ("Nitrat mg/l", "NO3"), ("Eisen mg/l", "Fe")]
    second = [("pH-Wert", "pH"), ("Leitfähigkeit (25 °C) µS/cm", "EC"), ("Hydrogencarbonat mg/l", "HCO3"), ("Natrium mg/l", "Na"), ("Kalium mg/l", "K"), ("Calcium mg/l", "Ca"),
              ("Magnesium mg/l", "Mg"), ("Chlorid mg/l", "Cl"), ("Sulfat mg/l", "SO4"), ("Nitrat mg/l", "NO3"), ("Bor mg/l", "B")]
    wells = [Sample("Brunnen 1", "brunnen 1", "2026-04-08"), Sample("Brunnen 2", "brunnen 2", "2026-04-08")]
    # The bench wrote calcium of this well under magnesium, and the other way round; the hardness is right.
    swapped = wells[0].water
    hardness = wells[0].figure("GH")
    swapped["Ca"], swapped["Mg"] = swapped["Mg"], swapped["Ca"]
    row = 3
    for title, table, samples in (("Betrieb Nord", first, wells), ("Betrieb Süd", second, [Sample("Regenbecken", "regenbecken", "2026-04-09"), Sample("Stadtwasser", "stadtwasser", "2026-04-09")])):
        sheet.put(row, 0, title)
        sheet.row(row + 1, ["Labornummer", "Probe", "Entnahmedatum"] + [t[0] for t in table])
        for i, sample in enumerate(samples):
            at = row + 2 + i
            sheet.row(at, [f"H26-0{220 + row + i}", sample.ref, sample.on])
            for j, (_, kind) in enumerate(table):
                figure = hardness if kind == "GH" and sample is wells[0] else None
                report.result(sheet, at, 3 + j, kind, sample, figure=figure)
        row += len(samples) + 3
    report.save()


hohenquell_2025()
hohenquell_2026()


# --- Laboratorium De Kromme Peilstok, Dutch: amounts of substance; later three sheets that belong together -
def peilstok_2025():
    report = Report("peilstok-2025.ods", comma=True)
    sheet = report.sheet("Uitslag")
    samples = [Sample("Z25-1", "bassin", "2025-02-19"), Sample("Z25-2", "bron", "2025-02-19"), Sample("Z25-3", "drain", "2025-02-20")]
    sheet.put(0, 0, "Laboratorium De Kromme Peilstok")
    sheet.merge(0, 0, 0, 5)
    sheet.row(1, ["Opdrachtgever:", "Kwekerij Zonderzorg"])
    sheet.row(3, ["Bepaling", "Eenheid"] + [s.ref for s in samples] + ["Streefwaarde"])
    sheet.row(4, ["Datum monstername", ""] + [s.on for s in samples])
    sheet.row(5, ["Herkomst", ""] + [s.source for s in samples])
    table = [("pH", "", "pH", "5,5-6,5"), ("EC (25 °C)", "mS/cm", "EC mS", "< 1,0")]
    table += [(name, "mmol/l", ion + " mmol", guide) for name, ion, guide in (
        ("Ammonium", "NH4", "< 0,1"), ("Kalium", "K", ""), ("Natrium", "Na", "< 1,5"), ("Calcium", "Ca", ""), ("Magnesium", "Mg", ""), ("Nitraat", "NO3", ""),
        ("Chloride", "Cl", "< 1,5"), ("Sulfaat", "SO4", ""), ("Bicarbonaat", "HCO3", "< 0,5"), ("Fosfaat", "PO4", ""))]
    table += [(name, "µmol/l", ion + " umol", "") for name, ion in (("IJzer", "Fe"), ("Mangaan", "Mn"), ("Zink", "Zn"), ("Boor", "B"), ("Koper", "Cu"))]
    for i, (label, unit, kind, guide) in enumerate(table):
        sheet.row(6 + i, [label, unit])
        for j, sample in enumerate(samples):
            report.result(sheet, 6 + i, 2 + j, kind, sample)
        sheet.put(6 + i, 5, guide)
    sheet.put(7 + len(table), 0, "Streefwaarde: voor gietwater bij substraatteelt, volgens ons laboratorium")
    report.save()


def peilstok_2026():
    report = Report("peilstok-2026.xlsm", comma=True)
    samples = [Sample("Bassin", "bassin", "2026-02-24"), Sample("Bron", "bron", "2026-02-24"), Sample("Drain", "drain", "2026-02-25")]
    for sample, number, e_coli, coliforms in zip(samples, ("Z26-1", "Z26-2", "Z26-3"), (("", 4), ("<", 1), ("", 12)), (("", 210), ("", 3), (">", 2400))):
        sample.number = number
        sample.counts = {"E. coli": e_coli, "coliforms": coliforms}
    pages = (
        ("Algemeen", [("pH", "pH"), ("EC (mS/cm bij 25 °C)", "EC mS"), ("Bicarbonaat (mg/l)", "HCO3"), ("Calcium (mg/l)", "Ca"), ("Magnesium (mg/l)", "Mg"), ("Natrium (mg/l)", "Na"),
                      ("Kalium (mg/l)", "K"), ("Ammonium (mg/l)", "NH4"), ("Chloride (mg/l)", "Cl"), ("Sulfaat (mg/l)", "SO4"), ("Nitraat (mg/l)", "NO3"), ("Fosfaat (mg/l)", "PO4")]),
        ("Metalen", [("IJzer (µg/l)", "Fe ug"), ("Mangaan (µg/l)", "Mn ug"), ("Zink (µg/l)", "Zn ug"), ("Koper (µg/l)", "Cu ug"), ("Boor (µg/l)", "B ug")]),
        ("Microbiologie", [("E. coli (kve/100 ml)", "E. coli"), ("Coliformen (kve/100 ml)", "coliforms")]))
    for name, table in pages:
        sheet = report.sheet(name)
        sheet.row(0, ["Laboratorium De Kromme Peilstok", "", "Opdrachtgever: Kwekerij Zonderzorg"])
        general = name == "Algemeen"
        lead = ["Monsternummer", "Datum monstername", "Monster"] if general else ["Monsternummer"]
        sheet.row(2, lead + [t[0] for t in table])
        for i, sample in enumerate(samples):
            sheet.row(3 + i, [sample.number, sample.on, sample.ref] if general else [sample.number])
            for j, (_, kind) in enumerate(table):
                report.result(sheet, 3 + i, len(lead) + j, kind, sample, figure=sample.counts.get(kind))
    report.save()


peilstok_2025()
peilstok_2026()


# --- Laboratorio Candil de Agua, Spanish: samples down; a sign column before each trace element ----
CANDIL = [("pH", "pH"), ("Conductividad eléctrica 25 °C (mS/cm)", "EC mS"), ("Bicarbonatos (mg/L)", "HCO3"), ("Cloruros (mg/L)", "Cl"), ("Sulfatos (mg/L)", "SO4"),
          ("Nitratos (mg/L)", "NO3"), ("Calcio (mg/L)", "Ca"), ("Magnesio (mg/L)", "Mg"), ("Sodio (mg/L)", "Na"), ("Potasio (mg/L)", "K")]


def candil_2025():
    report = Report("candil-2025.tsv", form="comma")
    sheet = report.sheet()
    samples = [Sample(f"C25-{i + 1}", s, f"2025-05-{14 + i // 2}") for i, s in enumerate(("pozo norte", "balsa", "red", "acequia"))]
    traces = [("Hierro (mg/L)", "Fe"), ("Manganeso (mg/L)", "Mn"), ("Boro (mg/L)", "B"), ("Cobre (mg/L)", "Cu")]
    sheet.row(0, ["Laboratorio Candil de Agua"])
    sheet.row(1, ["Cliente:", "Vivero Tres Candiles"])
    sheet.row(3, ["Muestra", "Fecha de muestreo", "Procedencia"] + [t[0] for t in CANDIL] + [x for label, _ in traces for x in ("Sg", label)])
    for i, sample in enumerate(samples):
        row = 4 + i
        sheet.row(row, [sample.ref, sample.on.strftime("%d/%m/%Y"), sample.source])
        for j, (_, kind) in enumerate(CANDIL):
            report.result(sheet, row, 3 + j, kind, sample)
        for j, (_, kind) in enumerate(traces):
            col = 3 + len(CANDIL) + 2 * j
            sign, number = sample.figure(kind)
            sheet.put(row, col, sign)
            sheet.put(row, col + 1, plain(number, True))
            report.truth(sheet, row, col + 1, kind, sample, sign, number)
    report.save(separator="\t", encoding="utf-16-le", mark=b"\xff\xfe", ends="\r\n")


def candil_2026():
    report = Report("candil-2026.xlsb", comma=True)
    sheet = report.sheet("Resultados")
    samples = [Sample(f"C26-{i + 1}", s, f"2026-05-{19 + i // 2}") for i, s in enumerate(("pozo norte", "balsa", "red", "acequia"))]
    traces = [("Hierro (mg/L)", "Fe"), ("Boro (mg/L)", "B")]
    sheet.row(0, ["Laboratorio Candil de Agua"])
    sheet.row(1, ["Cliente:", "Vivero Tres Candiles"])
    sheet.row(3, ["Muestra", "Fecha de muestreo", "Procedencia"] + [t[0] for t in CANDIL + traces] + ["Observaciones"])
    for i, sample in enumerate(samples):
        sheet.row(4 + i, [sample.ref, sample.on.strftime("%d/%m/%Y"), sample.source])
        for j, (_, kind) in enumerate(CANDIL + traces):
            report.result(sheet, 4 + i, 3 + j, kind, sample)
    sheet.put(7, 3 + len(CANDIL + traces), "agua turbia")
    report.save()


candil_2025()
candil_2026()


# --- Old Tollhouse Analysts, English: one result a row, the sign in its own column ------------------
def tollhouse():
    report = Report("tollhouse-2026.csv", form="point")
    sheet = report.sheet()
    sheet.row(0, ["sample_no", "source", "param", "result", "unit", "loq", "qual", "method", "sampled"])
    table = [("pH", "pH units", "pH", "ELE"), ("Conductivity (25 C)", "uS/cm", "EC", "ELE"), ("Total alkalinity as CaCO3", "mg/L", "alk", "TIT"),
             ("Calcium", "mg/L", "Ca", "ICP"), ("Magnesium", "mg/L", "Mg", "ICP"), ("Sodium", "mg/L", "Na", "ICP"), ("Potassium", "mg/L", "K", "ICP"),
             ("Chloride", "mg/L", "Cl", "IC"), ("Sulfate", "mg/L", "SO4", "IC"), ("Nitrate as N", "mg/L", "NO3-N", "IC"),
             ("Iron", "ug/L", "Fe ug", "ICP"), ("Manganese", "ug/L", "Mn ug", "ICP"), ("Boron", "ug/L", "B ug", "ICP"), ("Copper", "ug/L", "Cu ug", "ICP")]
    row = 1
    for number, sample in ((7781, Sample("7781", "rain tank", "2026-06-16")), (7782, Sample("7782", "pond", "2026-06-16")), (7783, Sample("7783", "borehole east", "2026-06-17"))):
        for label, unit, kind, method in table:
            sign, value = sample.figure(kind)
            limit = LIMITS.get(kind.split()[0])
            # This bench writes U for 'not detected' of metals, '<' for all others; the number is the limit.
            mark = sign and ("U" if kind == "Cu ug" else "<")
            sheet.row(row, [str(number), sample.source, label, plain(value), unit, plain(limit / KINDS[kind][3]) if limit and kind != "NO3-N" else "", mark, method, sample.on.isoformat()])
            report.truth(sheet, row, 3, kind, sample, sign, value)
            row += 1
    report.save(separator=",", encoding="utf-8", mark=b"\xef\xbb\xbf")


tollhouse()


# --- Saltwhistle Assay Room, English: one sample, a printed form ------------------------------------
def saltwhistle():
    report = Report("saltwhistle-q5512.txt", form="point")
    sample = Sample("Borehole East, yard side", "borehole east", "2025-09-16")
    lines = ["SALTWHISTLE ASSAY ROOM", "", f"Client:   {'Thimblegrove Nursery':<30}Report no.:     Q-5512-1", f"Sample:   {sample.ref:<30}Date of issue:  29 September 2025",
             f"Sampled:  {'16 September 2025':<30}Sampled by:     client", "-" * 78]
    table = [("pH value", "", "pH"), ("Conductivity", "mS/cm (25 °C)", "EC mS"), ("Total alkalinity", "mg/l as CaCO3", "alk"), ("Calcium", "mg/l", "Ca"), ("Magnesium", "mg/l", "Mg"), ("Sodium", "mg/l", "Na"),
             ("Potassium", "mg/l", "K"), ("Chloride", "mg/l", "Cl"), ("Sulphate", "mg/l", "SO4"), ("Nitrate", "mg/l as NO3", "NO3"), ("Iron", "mg/l", "Fe"), ("Boron", "mg/l", "B")]
    sheet = report.sheet()
    for label, unit, kind in table:
        sign, number = sample.figure(kind)
        report.truth(sheet, len(lines), 1, kind, sample, sign, number)
        lines.append(f"{label + ' ':.<26} {sign + plain(number):<10}{unit}".rstrip())
    lines += ["-" * 78, "Smells of nothing. End of report."]
    (HERE / report.file).write_bytes("".join(line + "\r\n" for line in lines).encode("utf-8"))


saltwhistle()


# --- Institut Tiefenklar, German: codes for names, units nowhere: needs its mapping ----------------
def tiefenklar():
    report = Report("tiefenklar-2026.csv", form="comma")
    sheet = report.sheet()
    sheet.row(0, ["PNR", "DAT", "PRM", "ERG", "VZ", "FLG"])
    codes = [("K01", "pH"), ("K02", "EC"), ("K11", "KS43"), ("A01", "Ca"), ("A02", "Mg"), ("A03", "Na"), ("A04", "K"), ("B01", "Cl"), ("B02", "SO4"), ("B03", "NO3-N"), ("S01", "Fe ug"), ("S02", "Mn ug")]
    row = 1
    for sample in (Sample("W-311", "brunnen 1", "2026-07-01"), Sample("W-312", "brunnen 2", "2026-07-01"), Sample("W-313", "stadtwasser", "2026-07-02")):
        for code, kind in codes:
            sign, value = sample.figure(kind)
            sheet.row(row, [sample.ref, sample.on.strftime("%Y%m%d"), code, plain(value, True), "U" if sign else "", "3"])
            report.truth(sheet, row, 3, kind, sample, sign, value)
            row += 1
    report.save(separator="|", encoding="utf-8")


tiefenklar()


# --- What the grower keeps himself: one source, dates across ---------------------------------------
def history():
    report = Report("thimblegrove-history.xlsx")
    sheet = report.sheet("Borehole East")
    samples = [Sample("", "borehole east", on) for on in ("2022-03-15", "2022-09-20", "2023-04-18", "2024-03-19")]
    sheet.row(0, ["Source:", "Borehole East"])
    sheet.row(2, ["Date sampled"] + [s.on for s in samples])
    table = [("pH", "pH"), ("Conductivity 25 °C µS/cm", "EC"), ("HCO3 mg/l", "HCO3"), ("Ca mg/l", "Ca"), ("Mg mg/l", "Mg"), ("Na mg/l", "Na"), ("K mg/l", "K"), ("Cl mg/l", "Cl"), ("SO4 mg/l", "SO4"), ("NO3 mg/l", "NO3"), ("Fe mg/l", "Fe")]
    for i, (label, kind) in enumerate(table):
        sheet.put(3 + i, 0, label)
        for j, sample in enumerate(samples):
            report.result(sheet, 3 + i, 1 + j, kind, sample)
    report.save()


history()


def letters(col):
    return chr(65 + col) if col < 26 else letters(col // 26 - 1) + chr(65 + col % 26)


with open(HERE.parent / "tests" / "golden" / "expected.csv", "w", newline="", encoding="utf-8") as out:
    table = csv.writer(out, lineterminator="\n")
    table.writerow("file sheet cell analyte value unit censored sample_ref sampled_on".split())
    for file, sheet, row, col, *rest in sorted(TRUTH):
        table.writerow([file, sheet, f"{letters(col)}{row + 1}", *rest])
print(f"{len({t[0] for t in TRUTH})} reports, {len(TRUTH)} results")
