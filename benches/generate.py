#!/usr/bin/env python3
"""Makes the inputs of the whole-program comparisons: invented reports and exports, the same bytes for the same arguments.

usage: generate.py reports COUNT FOLDER     COUNT small reports, workbooks and CSVs mixed (needs openpyxl)
       generate.py long ROWS FILE.csv       results-down: one result a row, 17 parameters in mixed units and bases
       generate.py wide ROWS FILE.csv       samples-down: one sample a row, 25 analytes

Five percent of the results are censored. Waters are drawn so that their ions balance within a few percent.
"""
import os, random, sys

# parameter, unit text, canonical mg/L (or µS/cm, pH) per printed unit, digits
LONG = [
    ("Calcium", "mg/L", 1.0, 1), ("Magnesium", "mg/L", 1.0, 2), ("Sodium", "mg/L", 1.0, 1),
    ("Potassium", "mmol/L", 39.098, 4), ("Bicarbonate", "meq/L", 61.016, 3), ("Chloride", "mg/L", 1.0, 1),
    ("Sulfate as S", "mg/L", 2.9961, 2), ("Nitrate as N", "mg/L", 4.4266, 3), ("Nitrite as NO2", "mg/L", 1.0, 3),
    ("Ammonium as N", "mg/L", 1.2879, 3), ("Phosphate as P", "mg/L", 3.0661, 3), ("Boron", "µg/L", 0.001, 0),
    ("Iron, total", "µg/L", 0.001, 0), ("Manganese", "µg/L", 0.001, 0), ("Zinc", "µg/L", 0.001, 0),
    ("pH", "", 1.0, 2), ("Conductivity (25 °C)", "µS/cm", 1.0, 0),
]
TRACE = ["Copper", "Molybdenum", "Aluminium", "Arsenic", "Cadmium", "Lead", "Nickel", "Selenium"]
NEVER_CENSORED = ("pH", "Conductivity (25 °C)")


def water(rng):
    """An invented water in mg/L (µS/cm, pH), its ions within about 3 % of balance."""
    ca, mg, na, k = rng.uniform(5, 160), rng.uniform(1, 40), rng.uniform(3, 120), rng.uniform(0.3, 12)
    so4, no3 = rng.uniform(2, 120), rng.uniform(0.5, 60)
    cations = ca / 20.039 + mg / 12.1525 + na / 22.990 + k / 39.098
    left = cations * rng.uniform(0.97, 1.03) - so4 / 48.028 - no3 / 62.004
    share = rng.uniform(0.25, 0.85)
    hco3, cl = max(left * share, 0.05) * 61.016, max(left * (1 - share), 0.05) * 35.45
    trace = [rng.uniform(0.01, 0.9), rng.uniform(0.01, 2), rng.uniform(0.01, 0.6), rng.uniform(0.005, 2), rng.uniform(0.002, 0.5), rng.uniform(0.002, 0.4)]
    values = [ca, mg, na, k, hco3, cl, so4, no3, rng.uniform(0.005, 0.2), *trace, rng.uniform(6.2, 8.4), cations * rng.uniform(88, 98)]
    return {parameter[0]: value for parameter, value in zip(LONG, values)}


def printed(rng, parameter, values):
    name, _, factor, digits = parameter
    value = values[name] / factor
    if name not in NEVER_CENSORED and rng.random() < 0.05:
        return f"<{max(value, 10 ** -digits):.{digits}f}"
    return f"{value:.{digits}f}"


def day(n):
    return f"{2005 + n % 20}-{n % 12 + 1:02}-{n % 28 + 1:02}"


def long(rows, path):
    rng = random.Random(7)
    with open(path, "w", encoding="utf-8", newline="") as out:
        out.write("Laboratory,Lab no.,Client,Source,Sampled,Parameter,Result,Unit\r\n")
        written, sample, block = 0, 0, []
        while written < rows:
            values = water(rng)
            head = f"Laboratory Birkfold,{sample % 100:02}-{sample:07},Client {sample % 900:03},Bore {sample % 6000:04},{day(sample)}"
            for parameter in LONG[: rows - written]:
                block.append(f"{head},{parameter[0] if ',' not in parameter[0] else chr(34) + parameter[0] + chr(34)},{printed(rng, parameter, values)},{parameter[1]}\r\n")
                written += 1
            sample += 1
            if len(block) > 100_000:
                out.writelines(block)
                block.clear()
        out.writelines(block)


def wide(rows, path):
    rng = random.Random(11)
    heads = [f"{name} {unit}".strip().replace(",", "") for name, unit, _, _ in LONG] + [f"{name} µg/L" for name in TRACE]
    with open(path, "w", encoding="utf-8", newline="") as out:
        out.write("Lab no.,Source,Sampled," + ",".join(heads) + "\r\n")
        block = []
        for sample in range(rows):
            values = water(rng)
            cells = [printed(rng, parameter, values) for parameter in LONG] + [f"{rng.uniform(0.1, 20):.1f}" for _ in TRACE]
            block.append(f"26-{sample:07},Bore {sample % 6000:04},{day(sample)}," + ",".join(cells) + "\r\n")
            if len(block) > 20_000:
                out.writelines(block)
                block.clear()
        out.writelines(block)


def reports(count, folder):
    from openpyxl import Workbook

    os.makedirs(folder, exist_ok=True)
    number = lambda text: text if text.startswith("<") else float(text)
    for i in range(count):
        rng = random.Random(1000 + i)
        samples = [(f"26-{i:05}-{j}", f"Bore {rng.randrange(400)}", water(rng)) for j in range(rng.randrange(2, 13))]
        date, name, kind = f"2026-{i % 12 + 1:02}-{i % 28 + 1:02}", os.path.join(folder, f"report-{i:05}"), i % 4
        if kind == 0:  # samples-down workbook, units in a row of their own
            book = Workbook()
            sheet = book.active
            for row in (["Laboratory Quillmoor, test report"], [], ["Lab no.", "Source", "Sampled"] + [p[0] for p in LONG], ["", "", ""] + [p[1] for p in LONG]):
                sheet.append(row)
            for ref, source, values in samples:
                sheet.append([ref, source, date] + [number(printed(rng, p, values)) for p in LONG])
            book.save(name + ".xlsx")
        elif kind == 1:  # samples-across workbook
            book = Workbook()
            sheet = book.active
            for row in (["Parameter", "Unit"] + [s[0] for s in samples], ["Source", ""] + [s[1] for s in samples], ["Sampled", ""] + [date] * len(samples)):
                sheet.append(row)
            for p in LONG:
                sheet.append([p[0], p[1]] + [number(printed(rng, p, s[2])) for s in samples])
            book.save(name + ".xlsx")
        elif kind == 2:  # samples-down CSV, decimal commas, Windows-1252
            with open(name + ".csv", "w", encoding="cp1252", newline="") as out:
                out.write("Lab no.;Source;Sampled;" + ";".join(f"{n} {u}".strip() for n, u, _, _ in LONG) + "\r\n")
                for ref, source, values in samples:
                    out.write(f"{ref};{source};{date};" + ";".join(printed(rng, p, values).replace(".", ",") for p in LONG) + "\r\n")
        else:  # results-down CSV
            with open(name + ".csv", "w", encoding="utf-8", newline="") as out:
                out.write("Lab no.;Source;Sampled;Parameter;Result;Unit\n")
                for ref, source, values in samples:
                    out.writelines(f"{ref};{source};{date};{p[0]};{printed(rng, p, values)};{p[1]}\n" for p in LONG)


if __name__ == "__main__":
    if len(sys.argv) != 4 or sys.argv[1] not in ("reports", "long", "wide"):
        sys.exit(__doc__)
    {"reports": reports, "long": long, "wide": wide}[sys.argv[1]](int(sys.argv[2]), sys.argv[3])
