#!/usr/bin/env bash
# Does the suite notice a wrong formula? Changes physics, network and chamber of the last commit in one
# place at a time (a sign, an operator, a branch, a returned value) and lists the changes that no test
# noticed.
#
#   bash tests/evidence/mutants.sh
#
# cargo-mutants finds some 3,300 such changes; compiling each by itself would take half a day. Those that
# can be switched on at run time, nearly all, are therefore compiled in together (`mutants/`), and only the
# rest is left to cargo-mutants. Needs `cargo install --locked cargo-mutants` and Linux (`prlimit`).
# $MUTANTS_OUT: where the clone and the results are kept; a run that was interrupted goes on from them.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
out="$(realpath -m "${MUTANTS_OUT:-target/mutants}")"
rm -rf "$out/clone"
git clone --quiet . "$out/clone"
cargo build --quiet --release --manifest-path tests/evidence/mutants/Cargo.toml --target-dir "$out/tool"
CARGO_TARGET_DIR="$out/target" exec "$out/tool/release/mutants" "$out/clone" "$out"
