"""The results of samples/ in DuckDB and pandas, held against what their maker wrote.

usage: truth.py PROGRAM DATASET
"""
import sys

import duckdb
import pandas

_, _, dataset = sys.argv
database = duckdb.connect()
database.execute(f"create view results as select * from '{dataset}/results.parquet'")
database.execute("create view truth as select * from read_csv('tests/golden/expected.csv', header = true, all_varchar = true)")
wrong = database.execute("""
    select coalesce(r.file, t.file) as file, coalesce(r.cell, t.cell) as cell, t.analyte, r.analyte, t.value, r.value, t.censored, r.censored, t.sampled_on, r.sampled_on
    from results r full join truth t on r.file = t.file and r.sheet = coalesce(t.sheet, '') and r.cell = t.cell
    where r.analyte is distinct from t.analyte or r.unit is distinct from t.unit
       or coalesce(r.censored, '') <> coalesce(t.censored, '') or coalesce(r.sample_ref, '') <> coalesce(t.sample_ref, '')
       or r.sampled_on is distinct from t.sampled_on::date
       or (r.value is null) <> (nullif(t.value, '') is null)
       or abs(r.value - nullif(t.value, '')::double) > 1e-9 * abs(r.value)
""").df()
assert wrong.empty, wrong.to_string()

# What a user counts on: a number below a limit is marked, a missing one is null, never zero.
assert database.execute("select count(*) from results where value = 0 and censored is not null").fetchone() == (0,)
table = pandas.read_parquet(f"{dataset}/results.parquet")
assert len(table) == len(pandas.read_csv("tests/golden/expected.csv"))
assert str(table["value"].dtype) == "float64", table["value"].dtype
assert table["value"].isna().sum() == (table["censored"] == "absent").sum()
print(f"{len(table)} results as their maker wrote them")
