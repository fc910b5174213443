"""Partitions and parts of a dataset, read by engines that are not ours as one table.

    python read_partitions.py PROGRAM DATASET

Gathers samples/ again, partitioned and in two parts, and holds what DuckDB, pyarrow, polars and, where it
is at hand, Spark read of it against DATASET. Needs from PyPI: duckdb, pyarrow, polars; for Spark pyspark and
a Java.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb
import polars
import pyarrow.dataset
import pyarrow.parquet


def run(program, *arguments):
    subprocess.run([program, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL)


def spark():
    """A session of Spark; None where there is none."""
    try:
        from pyspark.sql import SparkSession
    except ImportError:
        return None
    if not shutil.which("java"):
        return None
    return SparkSession.builder.master("local[1]").config("spark.ui.enabled", "false").getOrCreate()


def same_rows(found, whole, columns, engine):
    """Whether an engine's rows, as dicts, are those of the whole table."""
    found = sorted((tuple(row[name] for name in columns) for row in found), key=repr)
    assert found == whole, engine


def rows(relation):
    return sorted(relation.fetchall(), key=repr)


def main(program, dataset, samples=Path("samples"), mappings=Path("mappings")):
    whole = rows(duckdb.sql(f"SELECT * FROM '{dataset}/results.parquet'"))
    columns = pyarrow.parquet.read_schema(dataset / "results.parquet").names
    session = spark()
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        for by in ("year", "source", "lab"):
            into = folder / by
            run(program, "gather", samples, "--into", into, "--partition-by", by, "--no-csv")
            files = sorted((into / "results").glob("*/*.parquet"))
            names = ", ".join(f'"{name}"' for name in columns)
            parted = f"read_parquet('{into}/results/*/*.parquet', hive_partitioning = true)"
            assert rows(duckdb.sql(f"SELECT {names} FROM {parted}")) == whole, f"DuckDB by {by}"
            table = pyarrow.dataset.dataset(into / "results", partitioning="hive").to_table()
            same_rows(table.to_pylist(), whole, columns, f"pyarrow by {by}")
            assert len(table.column_names) == len(columns) + 1, f"the key of {by} hides a column"
            frame = polars.scan_parquet(into / "results", hive_partitioning=True).collect()
            same_rows(frame.to_dicts(), whole, columns, f"polars by {by}")
            if session:
                frame = session.read.parquet(str(into / "results"))
                same_rows([row.asDict() for row in frame.collect()], whole, columns, f"Spark by {by}")
            if by == "year":
                of_year = "year IS NOT DISTINCT FROM extract(year FROM sampled_on)"
                wrong = duckdb.sql(f"SELECT count(*) FROM {parted} WHERE NOT ({of_year})")
                assert wrong.fetchall() == [(0,)], "results in the folder of another year"
            print(f"by {by}: {len(files)} folders, {table.num_rows} results")
        reports = sorted(path for path in samples.iterdir() if path.is_file())
        into = folder / "parts"
        for name, half in (("one", reports[::2]), ("two", reports[1::2])):
            run(program, "gather", *half, "--into", into, "--part", name, "--mappings", mappings)
        parts = rows(duckdb.sql(f"SELECT * FROM '{into}/parts/*/results.parquet'"))
        assert parts == whole, "parts as one table"
        run(program, "join", into, "--mappings", mappings)
        for path in sorted(dataset.glob("*.parquet")) + sorted(dataset.glob("*.csv")):
            joined = (into / path.name).read_bytes()
            assert joined == path.read_bytes(), f"{path.name} of joined parts"
        print(f"in parts: {len(reports)} reports joined are the dataset, byte for byte")


if __name__ == "__main__":
    main(sys.argv[-2], Path(sys.argv[-1]))
