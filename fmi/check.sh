#!/usr/bin/env bash
# Builds units of several runs and tries them with FMPy: check.py says how.
#   check.sh [FOLDER]   FOLDER keeps the Python environment between runs
# Needs Rust, python3 with venv and a package registry. $DOGDAYS: the program; without it, it is built.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
root="$(cd "$here/.." && pwd)"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
venv="${1:-$work/venv}"
target="${CARGO_TARGET_DIR:-$root/target}"

if [ -z "${DOGDAYS:-}" ]; then
  (cd "$root" && cargo build --release)
  DOGDAYS="$target/release/dogdays"
fi
cargo build --release --manifest-path "$here/Cargo.toml" --target-dir "$target"
if ! "$venv/bin/python" -c 'import fmpy' 2> /dev/null; then
  python3 -m venv "$venv"
fi
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check -r "$here/requirements.txt"
mkdir "$work/units"
"$venv/bin/python" "$here/check.py" "$DOGDAYS" "$target/release/dogdays-fmu" "$root" "$work/units"
