#!/usr/bin/env bash
# Makes the reference grids afresh with pinned libraries, compares them with the committed ones and
# with what the library gives, and runs every check against them.
#
#   tests/evidence/reference/live.sh [FOLDER] [--write]
#
# FOLDER keeps the Python environment between runs (default: .venv at the project's root). Needs
# python3 with venv and a package registry. ngspice is installed if it can be (Debian); if not, the
# committed solution of the circuit stands in, and it says so. With --write the committed grids are
# replaced.
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
export PYTHONDONTWRITEBYTECODE=1

install_ngspice() {
    command -v apt-get > /dev/null || return 1
    local as=()
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo > /dev/null && sudo -n true 2> /dev/null || return 1
        as=(sudo -n)
    fi
    # A stale list of packages is the usual reason for a failure: refresh it and try again.
    "${as[@]}" apt-get install -y -qq ngspice > /dev/null 2>&1 && return
    "${as[@]}" apt-get update -qq > /dev/null 2>&1
    "${as[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq ngspice > /dev/null 2>&1
}

# An environment left half-made by an interrupted run is made again.
if ! cmp -s "$here/requirements.txt" "$venv/made-for-requirements.txt"; then
    rm -rf "$venv"
    python3 -m venv "$venv"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --requirement "$here/requirements.txt"
    cp "$here/requirements.txt" "$venv/made-for-requirements.txt"
fi

cd "$root"
mkdir "$work/grids"
if command -v ngspice > /dev/null || install_ngspice; then
    cargo run --quiet --example reference_values -- --netlist > "$work/network.cir"
    "$venv/bin/python" "$here/make_grids.py" "$work/grids" "$work/network.cir"
else
    printf '%s\n' "" "*** live.sh: NO NGSPICE HERE AND NONE COULD BE INSTALLED." \
        "*** The circuit was NOT solved anew: its committed solution stands in." "" >&2
    "$venv/bin/python" "$here/make_grids.py" "$work/grids"
    cp "$here/network_linear_ngspice.csv" "$work/grids/"
fi

if [ "$write" = yes ]; then
    cp "$work/grids/"*.csv "$here/"
fi
cargo run --quiet --example reference_values -- --values "$work/grids" > "$work/ours.csv"
"$venv/bin/python" "$here/compare.py" "$here" "$work/grids" "$work/ours.csv"
DOGDAYS_REFERENCE_DIR="$work/grids" cargo test --quiet --test evidence
