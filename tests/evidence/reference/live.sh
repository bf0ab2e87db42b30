#!/usr/bin/env bash
# Makes the reference grids afresh with pinned libraries and runs every check against them.
#
#   tests/evidence/reference/live.sh [FOLDER]
#
# FOLDER keeps the Python environment between runs (default: .venv at the project's root). Needs
# python3 with venv and a package registry; ngspice is used if it is there, else the committed
# file of the circuit stands in, and it says so. With --write the committed grids are replaced.
set -euo pipefail

here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
root="$(cd "$here/../../.." && pwd)"
write=no
venv="$root/.venv"
for argument in "$@"; do
    case "$argument" in
        --write) write=yes ;;
        *) venv="$argument" ;;
    esac
done

work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

# An environment left half-made by an interrupted run is made again.
if ! cmp -s "$here/requirements.txt" "$venv/made-for-requirements.txt"; then
    rm -rf "$venv"
    python3 -m venv "$venv"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --requirement "$here/requirements.txt"
    cp "$here/requirements.txt" "$venv/made-for-requirements.txt"
fi

cd "$root"
mkdir "$work/grids"
if command -v ngspice > /dev/null; then
    cargo run --quiet --example reference_values -- --netlist > "$work/network.cir"
    "$venv/bin/python" "$here/make_grids.py" "$work/grids" "$work/network.cir"
else
    echo "live.sh: no ngspice here: the committed solution of the circuit is used" >&2
    "$venv/bin/python" "$here/make_grids.py" "$work/grids"
    cp "$here/network_linear_ngspice.csv" "$work/grids/"
fi

# The committed grids must be what these libraries give: to 1e-6, so that another processor's last
# digits don't matter.
same=0
"$venv/bin/python" - "$here" "$work/grids" <<'PYTHON' || same=$?
import pathlib
import sys

import numpy as np

committed, fresh = (pathlib.Path(p) for p in sys.argv[1:])
bad = 0
for path in sorted(fresh.glob("*.csv")):
    other = committed / path.name
    if not other.exists():
        print(f"{path.name}: not committed")
        bad += 1
        continue
    a, b = (np.loadtxt(p, delimiter=",", skiprows=1) for p in (other, path))
    # The circuit simulator chooses its own steps: 1e-3 K between versions.
    close = {"atol": 1e-3, "rtol": 0} if "ngspice" in path.name else {"atol": 0, "rtol": 1e-6}
    if a.shape != b.shape or not np.allclose(a, b, **close):
        print(f"{path.name}: the committed grid is not what the libraries give")
        bad += 1
stale = {p.name for p in committed.glob("*.csv")} - {p.name for p in fresh.glob("*.csv")}
for name in sorted(stale):
    print(f"{name}: committed, but no longer made")
sys.exit(1 if bad or stale else 0)
PYTHON

if [ "$write" = yes ]; then
    cp "$work/grids/"*.csv "$here/"
fi
DOGDAYS_REFERENCE_DIR="$work/grids" cargo test --quiet --test evidence
exit "$same"
