"""Opens a dataset with readers that are not ours and holds them against each other.

    python read_dataset.py [PROGRAM] DATASET

The Data Package validator, DuckDB, pyarrow and pandas each read every table; types, units, nulls,
dates and values must agree, the hashes must be those of the files, and the account must add up.
Needs from PyPI: frictionless, duckdb, pandas, pyarrow.
"""

import csv
import hashlib
import json
import math
import sys
from datetime import date
from pathlib import Path

import duckdb
import pandas
import pyarrow.compute
import pyarrow.parquet
from frictionless import validate

ARROW = {"string": "large_string", "number": "double", "integer": "int64", "date": "date32[day]"}
DUCK = {"string": "VARCHAR", "number": "DOUBLE", "integer": "BIGINT", "date": "DATE"}
FORMULA = ("=", "+", "-", "@", "\t", "\r")

problems = []


def expect(true, what):
    if not true:
        problems.append(what)


def from_csv(text, kind):
    if text == "":
        return None
    return {"string": str, "number": float, "integer": int, "date": date.fromisoformat}[kind](text)


def in_csv(value, kind):
    """What the CSV twin should hold for a value of the Parquet file."""
    if kind == "string":
        if value == "":
            return None
        if value is not None and value.startswith(FORMULA):
            return "'" + value
    return value


def check_table(folder, parquet, comma):
    name = parquet["path"]
    path = folder / name
    fields = parquet["schema"]["fields"]
    kinds = [field["type"] for field in fields]
    table = pyarrow.parquet.read_table(path)
    expect(table.column_names == [field["name"] for field in fields], f"{name}: other columns")
    for field, arrow in zip(fields, table.schema):
        what = f"{name}: {field['name']}"
        metadata = {k.decode(): v.decode() for k, v in (arrow.metadata or {}).items()}
        expect(str(arrow.type) == ARROW[field["type"]], f"{what} is {arrow.type}")
        expect(metadata.get("description") == field["description"], f"{what}: description")
        expect(metadata.get("unit") == field.get("unit"), f"{what}: unit")
    metadata = pyarrow.parquet.ParquetFile(path).metadata.metadata
    for key in (b"schema_version", b"wellread_version"):
        expect(key in metadata and key in table.schema.metadata, f"{name}: no {key.decode()}")
    expect(pandas.read_parquet(path).shape == table.shape, f"{name}: pandas sees another shape")
    # Whoever looks for a value finds it: statistics that a reader takes otherwise would hide it.
    for field, column in zip(fields, table.columns):
        values = [value for value in column.to_pylist() if value is not None]
        for value in values[len(values) // 2 :][:1]:
            query = f"SELECT count(*) FROM '{path}' WHERE \"{field['name']}\" = ?"
            found = duckdb.sql(query, params=[value]).fetchall()[0][0]
            expect(found == values.count(value), f"{name}: DuckDB finds {found} of {field['name']} {value!r}")
    described = duckdb.sql(f"DESCRIBE SELECT * FROM '{path}'").fetchall()
    expect([row[1] for row in described] == [DUCK[k] for k in kinds], f"{name}: types in DuckDB")
    rows = [tuple(row.values()) for row in table.to_pylist()]
    expect(duckdb.sql(f"SELECT * FROM '{path}'").fetchall() == rows, f"{name}: values in DuckDB")
    for row in rows:
        for value in row:
            if isinstance(value, float):
                expect(math.isfinite(value), f"{name}: {value}")
    # A filter on text, which not every type of text allows.
    pyarrow.compute.equal(table.column(0), "x")
    if comma is None:
        return rows
    with open(folder / comma["path"], newline="", encoding="utf-8") as file:
        records = list(csv.reader(file))
    expect(records[0] == table.column_names, f"{comma['path']}: other headings")
    expect(len(records) == len(rows) + 1, f"{comma['path']}: {len(records) - 1} rows")
    for number, (row, record) in enumerate(zip(rows, records[1:]), start=2):
        expected = [in_csv(value, kind) for value, kind in zip(row, kinds)]
        read = [from_csv(text, kind) for text, kind in zip(record, kinds)]
        expect(read == expected, f"{comma['path']}: record {number}: {read} is not {expected}")
        for text, kind in zip(record, kinds):
            run = kind == "string" and text.startswith(FORMULA)
            expect(not run, f"{comma['path']}: record {number} would run {text!r}")
    return rows


def main(folder):
    package = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    report = validate(str(folder / "datapackage.json"))
    expect(report.valid, f"not a valid Data Package: {report.flatten(['type', 'note'])[:5]}")
    resources = {resource["name"]: resource for resource in package["resources"]}
    for resource in package["resources"]:
        held = hashlib.sha256((folder / resource["path"]).read_bytes()).hexdigest()
        expect(resource["hash"] == f"sha256:{held}", f"{resource['path']}: hash")
    tables = {}
    for name in ("results", "samples", "findings", "unplaced", "account"):
        tables[name] = check_table(folder, resources[f"{name}-parquet"], resources.get(name))
    for file, sheet, _, _, cells, *parts in tables["account"]:
        expect(cells == sum(parts), f"account: {file} {sheet}: {cells} cells are not {parts}")
    expect(sum(row[5] for row in tables["account"]) == len(tables["results"]), "account: results")
    expect(sum(row[9] for row in tables["account"]) == len(tables["unplaced"]), "account: unplaced")
    keys = {row[0] for row in tables["samples"]}
    expect(len(keys) == len(tables["samples"]), "samples: a key twice")
    expect({row[0] for row in tables["results"]} == keys, "results: keys that samples lacks, or fewer")
    for problem in problems[:20]:
        print(problem, file=sys.stderr)
    counts = ", ".join(f"{len(rows)} {name}" for name, rows in tables.items())
    print(f"{folder}: {counts}; {len(problems)} problems")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[-1])))
