#!/usr/bin/env bash
# Holds the dataset of samples/ and the conversions against tools that other people wrote.
# usage: tests/outside/run.sh PROGRAM
# Makes its own Python environment under target/ (from PyPI) and keeps it for the next time.
set -euo pipefail
program=$(realpath "$1")
cd "$(dirname "$0")/../.."
venv=target/outside-venv
packages=(frictionless==5.21.0 duckdb==2.0.1 pandas==3.1.1 pyarrow==26.0.1 polars==2.1.0 pint==0.25.3 molmass==2026.1.8)

if ! "$venv/bin/python" -c 'import frictionless, duckdb, pandas, pyarrow, polars, pint, molmass' 2>/dev/null; then
    rm -rf "$venv"
    if ! python3 -m venv "$venv" 2>/dev/null; then
        # Debian ships venv apart from python3.
        sudo=$([ "$(id -u)" = 0 ] || echo sudo)
        $sudo apt-get update -qq
        $sudo apt-get install -y -qq python3 python3-venv
        rm -rf "$venv"
        python3 -m venv "$venv"
    fi
    # An older Python has no wheel of these very versions; any recent ones hold the dataset as well.
    "$venv/bin/pip" install --quiet --disable-pip-version-check "${packages[@]}" ||
        "$venv/bin/pip" install --quiet --disable-pip-version-check "${packages[@]%%==*}"
fi

water=$(mktemp -d)
trap 'rm -rf "$water"' EXIT
"$program" gather samples --into "$water/data" >/dev/null
"$venv/bin/frictionless" validate "$water/data/datapackage.json"
for script in tests/outside/*.py; do
    echo "-- $script"
    "$venv/bin/python" "$script" "$program" "$water/data"
done
