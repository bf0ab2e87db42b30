#!/usr/bin/env bash
# Fetches the whole weather files that tests/weather_files reads, from the packages they are published in.
#
#   tests/data/fetch.sh FOLDER
#   DOGDAYS_WEATHER_DATA=FOLDER cargo test --test weather_files
#
# Needs python3 with pip and a package registry.
set -euo pipefail

folder="$1"
mkdir -p "$folder"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

python3 -m pip download --quiet --no-deps --no-binary pvlib --dest "$work" 'pvlib==0.16.1'
python3 -m pip download --quiet --no-deps --dest "$work" 'diyepw==1.3.1'

tar -xzf "$work"/pvlib-*.tar.gz -C "$work"
cp "$work"/pvlib-*/pvlib/data/723170TYA.CSV "$folder/"
cp "$work"/pvlib-*/tests/data/tmy_45.000_8.000_2005_2023.epw "$folder/"
python3 -m zipfile -e "$work"/diyepw-*.whl "$work/diyepw"
cp "$work"/diyepw/diyepw/data/noaa_isd_lite_files/725957-2016.gz "$folder/"
