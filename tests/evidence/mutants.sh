#!/usr/bin/env bash
# Does the suite notice a wrong formula? Changes physics, network and chamber in one place at a time (a
# sign, an operator, a branch, a returned value) and lists the changes that no test noticed.
#
#   bash tests/evidence/mutants.sh [PART/PARTS]
#
# All of it is some 3,300 changes at about a quarter of a minute each; 0/30 takes every thirtieth. Needs
# `cargo install --locked cargo-mutants`. The network's description for export is left out: no result
# rests on it. The evidence page is written, not compared, in the copies that are changed: a changed
# digit on the page is no check.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
out="${MUTANTS_OUT:-target/mutants}"
mkdir -p "$out"
export DOGDAYS_WRITE_EVIDENCE=1
exec cargo mutants --profile mutants --output "$out" --timeout 90 --no-times \
    --file 'src/physics/**' --file 'src/network/**' --file 'src/chamber/**' \
    --exclude src/chamber/describe.rs --exclude src/chamber/description.rs \
    --shard "${1:-0/1}" --sharding round-robin ${MUTANTS_IN_PLACE:+--in-place} \
    -- --lib --test slopes --test second_implementation --test evidence --test properties
