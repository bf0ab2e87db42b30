#!/usr/bin/env bash
# Draws the pictures of this folder from demo-data, into the folder named (default: this one).
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
to=${1:-$here}
mkdir -p "$to"
to=$(cd "$to" && pwd)
cd "$here/.."
dogdays() { ./target/release/dogdays "$@" > /dev/null 2>&1 || test "$?" -ne 1 -a "$?" -ne 2; }
run=$(mktemp -d)
trap 'rm -rf "$run"' EXIT
cp demo-data/weather.csv "$run/"
dogdays check demo-data/run.toml --plot "$to/demo-closed.svg"
sed 's|^kind = "closed".*|kind = "extracting"\nflow = "40 m3/h"|' demo-data/run.toml > "$run/extracting.toml"
dogdays check "$run/extracting.toml" --plot "$to/demo-extracting.svg"
dogdays check demo-data/failures.toml --plot "$to/demo-failures.svg"
dogdays compare demo-data/run.toml --plot "$to/demo-compare.svg"
dogdays size-fan demo-data/run.toml --plot "$to/demo-fans.svg"
dogdays calibrate demo-data/run.toml --log demo-data/first-day.csv --plot "$to/demo-log.svg"
dogdays follow demo-data/run.toml --log demo-data/first-day.csv --plot "$to/demo-follow.svg"
summer() { dogdays season "$1" --weather demo-data/summer.csv --plot "$to/$2"; }
summer demo-data/run.toml demo-season.svg
cat demo-data/run.toml - > "$run/arrangements.toml" <<'END'

[[compare]]
name = "lid off"
arrangement.kind = "lid off"

[[compare]]
name = "extracting 10 m3/h"
arrangement.kind = "extracting"
arrangement.flow = "10 m3/h"

[[compare]]
name = "extracting 40 m3/h"
arrangement.kind = "extracting"
arrangement.flow = "40 m3/h"
END
summer "$run/arrangements.toml" demo-season-arrangements.svg

# The sheet names the command that made it: the same in every folder, at one time.
cp -r demo-data "$run/"
program=$PWD/target/release/dogdays
(
  cd "$run"
  code=0
  SOURCE_DATE_EPOCH=1783839600 "$program" check demo-data/run.toml --report demo-report.html > /dev/null 2>&1 || code=$?
  test "$code" -eq 20
)
cp "$run/demo-report.html" "$to/"
