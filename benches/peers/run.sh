#!/usr/bin/env bash
# Times the program beside other integrators on the same network and weather; see README.md beside this file.
#   run.sh [FOLDER]    FOLDER keeps the Python environment and the weather between runs (default: a temporary one)
# Needs Rust, a C compiler called cc, python3 with venv, and a package registry. $PEERS_STARTS: how many starts
# of the season the peers are measured on (24). $PEERS_ROUNDS: how often everything is timed, in turn (5).
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
root="$(cd "$here/../.." && pwd)"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
keep="${1:-$work}"
mkdir -p "$keep"
keep="$(cd "$keep" && pwd)"

if ! cmp -s "$here/requirements.txt" "$keep/venv/made-for-requirements.txt"; then
  rm -rf "$keep/venv"
  python3 -m venv "$keep/venv"
  "$keep/venv/bin/pip" install --quiet --disable-pip-version-check -r "$here/requirements.txt"
  cp "$here/requirements.txt" "$keep/venv/made-for-requirements.txt"
fi
# A typical year in the hourly TMY3 format.
year="$keep/weather/723170TYA.CSV"
[ -s "$year" ] || bash "$root/tests/data/fetch.sh" "$keep/weather"

(cd "$root" && cargo build --release --bin dogdays --example peers)
export PYTHONDONTWRITEBYTECODE=1 OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
"$keep/venv/bin/python" "$here/compare.py" "$root" "$year" "$work" \
  --starts "${PEERS_STARTS:-24}" --rounds "${PEERS_ROUNDS:-5}"
