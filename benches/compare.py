#!/usr/bin/env python3
"""Whole-program comparisons: wellread beside the yardstick, in turn, in one run; ratios with minimum, median and maximum.

usage: compare.py PROGRAM [--runs N] [--reports COUNT] [--rows N …] [--wide N] [--work FOLDER]

  reports   COUNT small reports: gather against bare reading (benches/bare.rs: calamine and csv walk every cell, nothing else)
  long      results-down CSV of N rows: gather --no-csv against DuckDB's COPY and polars' scan to Parquet sink, both unnormalized,
            zstd, same processors
  wide      samples-down CSV of N rows of 25 analytes: likewise

Needs duckdb, polars and openpyxl from PyPI. Inputs come from benches/generate.py and are kept in the work folder.
"""
import argparse, json, os, resource, shutil, statistics, subprocess, sys, time

HERE = os.path.dirname(os.path.abspath(__file__))
DUCKDB = "import duckdb,sys; duckdb.sql(f\"COPY (SELECT * FROM read_csv('{sys.argv[1]}', all_varchar=false)) TO '{sys.argv[2]}' (FORMAT parquet, COMPRESSION zstd)\")"
POLARS = "import polars as p,sys; p.scan_csv(sys.argv[1], infer_schema_length=10000, ignore_errors=True).sink_parquet(sys.argv[2], compression='zstd')"


def run(command):
    """Wall seconds and peak memory (MiB) of one command; it must end with 0."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    error = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        sys.exit(f"{' '.join(command)}\n{error.decode()}")
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def spread(numbers, form):
    return " / ".join(form.format(f(numbers)) for f in (min, statistics.median, max))


def compare(name, ours, others, runs, clean):
    """Runs ours and each other in turn; one line for each other."""
    seen = {label: [] for label in ["wellread", *others]}
    for turn in range(runs + 1):  # the first turn warms the caches and is not counted
        for label, command in [("wellread", ours), *others.items()]:
            clean()
            result = run(command)
            if turn:
                seen[label].append(result)
    for label in others:
        ratios = [a[0] / b[0] for a, b in zip(seen["wellread"], seen[label])]
        print(
            f"{name}: wellread / {label}: ratio {spread(ratios, '{:.2f}')} (min / median / max of {runs})"
            f" | seconds {spread([s for s, _ in seen['wellread']], '{:.2f}')} against {spread([s for s, _ in seen[label]], '{:.2f}')}"
            f" | peak MiB {max(m for _, m in seen['wellread']):.0f} against {max(m for _, m in seen[label]):.0f}",
            flush=True,
        )


def bare():
    out = subprocess.run(["cargo", "bench", "--bench", "bare", "--no-run", "--message-format=json"], cwd=os.path.dirname(HERE), capture_output=True, text=True, check=True).stdout
    built = [json.loads(line) for line in out.splitlines() if line.startswith("{")]
    return [m["executable"] for m in built if m.get("executable") and m["target"]["name"] == "bare"][-1]


def made(kind, count, path):
    if not os.path.exists(path):
        subprocess.run([sys.executable, os.path.join(HERE, "generate.py"), kind, str(count), path], check=True)
    return path


def main():
    p = argparse.ArgumentParser(usage=__doc__)
    p.add_argument("program")
    p.add_argument("--runs", type=int, default=5)
    p.add_argument("--reports", type=int, default=0)
    p.add_argument("--rows", type=int, nargs="*", default=[])
    p.add_argument("--wide", type=int, default=0)
    p.add_argument("--work", default="/tmp/wellread-compare")
    a = p.parse_args()
    os.makedirs(a.work, exist_ok=True)
    into, other = os.path.join(a.work, "water"), os.path.join(a.work, "other.parquet")

    def clean():
        shutil.rmtree(into, ignore_errors=True)
        if os.path.exists(other):
            os.remove(other)

    if a.reports:
        folder = made("reports", a.reports, os.path.join(a.work, f"reports-{a.reports}"))
        compare(f"{a.reports} reports", [a.program, "gather", folder, "--into", into], {"bare reading": [bare(), folder]}, a.runs, clean)
    for kind, count in [("long", n) for n in a.rows] + ([("wide", a.wide)] if a.wide else []):
        path = made(kind, count, os.path.join(a.work, f"{kind}-{count}.csv"))
        others = {"duckdb": [sys.executable, "-c", DUCKDB, path, other], "polars": [sys.executable, "-c", POLARS, path, other]}
        compare(f"{kind} {count} rows", [a.program, "gather", path, "--into", into, "--no-csv"], others, a.runs, clean)


if __name__ == "__main__":
    main()
