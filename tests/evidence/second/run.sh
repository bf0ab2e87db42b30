#!/usr/bin/env bash
# Compares the program with its second implementation; see README.md beside this file.
#   run.sh [HOURS]     only the first HOURS of each run
# $DOGDAYS: the program; without it, it is built. $SECOND_PYTHON: a Python that has what
# requirements.txt lists; without it, an environment is made in a temporary folder. $SECOND_WRITE: a
# folder for the second implementation's own values, which `cargo test` compares without Python.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
root="$(cd "$here/../../.." && pwd)"
hours="${1:-}"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

if [ -z "${DOGDAYS:-}" ]; then
  (cd "$root" && cargo build --release)
  DOGDAYS="${CARGO_TARGET_DIR:-$root/target}/release/dogdays"
fi
if [ -z "${SECOND_PYTHON:-}" ]; then
  python3 -m venv "$work/venv"
  "$work/venv/bin/pip" install --quiet --disable-pip-version-check -r "$here/requirements.txt"
  SECOND_PYTHON="$work/venv/bin/python"
fi

# The demo in each arrangement, then runs that work every other switch.
cp "$root/demo-data/weather.csv" "$here"/runs/*.toml "$here"/runs/*.csv "$here"/runs/beside/*.toml "$work/"
names=()
arrangement() { # name, lines that stand for the demo's `kind = "closed"`
  awk -v lines="$2" '/^kind = "closed"/ { print lines; found = 1; next } { print }
    END { exit !found }' "$root/demo-data/run.toml" > "$work/$1.toml"
  names+=("$1")
}
arrangement closed 'kind = "closed"'
arrangement lid-off 'kind = "lid off"'
arrangement door-open 'kind = "door open"'
arrangement extracting 'kind = "extracting"\nflow = "40 m3/h"'
arrangement blowing-in 'kind = "blowing in"\nflow = "40 m3/h"'
arrangement recirculating 'kind = "recirculating"\nflow = "40 m3/h"'
for file in "$here"/runs/*.toml; do names+=("$(basename "$file" .toml)"); done
# A room shared with another run, whose own file lies beside it.
names+=(shared-room)

check() { # ends well whatever the verdict
  local code=0
  "$DOGDAYS" --quiet check "$@" > /dev/null || code=$?
  case "$code" in 0 | 10 | 20) ;; *) exit "$code" ;; esac
}
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
one() {
  cd "$work"
  check "$1.toml" --export-network "$1.json" --csv "$1.csv" --every "5 min"
  check "$1.toml" --integrator explicit --csv "$1-explicit.csv" --every "5 min"
  local options=(--name "$1")
  # A thermostat's moments of switching drift with the integrator: see README.md.
  if [ "$1" = switched ]; then options+=(--cross-only --cross-limit 0.05); fi
  if [ -n "$hours" ]; then options+=(--hours "$hours"); fi
  if [ -n "${SECOND_WRITE:-}" ] && [ "$1" != switched ] && [ "$1" != shared-room ]; then options+=(--write "$SECOND_WRITE/$1.csv"); fi
  "$SECOND_PYTHON" "$here/rebuild.py" "$1.json" "$1.csv" "$1-explicit.csv" "${options[@]}" \
    > "$1.row" || echo "$1" >> failed
}

# Two at a time.
for ((k = 0; k < ${#names[@]}; k += 2)); do
  pids=()
  for name in "${names[@]:k:2}"; do
    one "$name" &
    pids+=($!)
  done
  for pid in "${pids[@]}"; do wait "$pid"; done
done
echo '| run | length | against the main integrator | against the explicit one | took |'
echo '| --- | --- | --- | --- | --- |'
for name in "${names[@]}"; do cat "$work/$name.row"; done
# No law, course or store of the schema that these runs leave out.
"$SECOND_PYTHON" "$here/covered.py" "$root/docs/network.schema.json" "$work"/*.json
if [ -e "$work/failed" ]; then
  printf 'too far apart, or not run: %s\n' "$(tr '\n' ' ' < "$work/failed")" >&2
  exit 1
fi
