#!/bin/sh
# Coverage-guided fuzzing of every reader, one after another.
#   MINUTES=10 sh tests/fuzz/run.sh [TARGET...]
# A finding ends the run: its input stays in build-fuzz/findings/.
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
. "$root/tests/prepare.sh"
printf 'clang\nlibclang-rt-14-dev\n' >"${TMPDIR:-/tmp}/hearwood-fuzz-packages.$$"
install_packages "$root/tests/packages.txt"
install_packages "${TMPDIR:-/tmp}/hearwood-fuzz-packages.$$"
rm -f "${TMPDIR:-/tmp}/hearwood-fuzz-packages.$$"
build=$root/build-fuzz
targets=${*:-sheet chunks name recording survey answers}
cmake -S "$root" -B "$build" -G Ninja -DHEARWOOD_FUZZ=ON -DCMAKE_CXX_COMPILER=clang++ \
    -DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=30 \
    -DHEARWOOD_SANITIZE=address,undefined,fuzzer-no-link >/dev/null
# shellcheck disable=SC2046
cmake --build "$build" --target $(for t in $targets; do printf 'fuzz_%s ' "$t"; done)
mkdir -p "$build/findings"
for target in $targets; do
    mkdir -p "$build/grown/$target"
    echo "== $target, ${MINUTES:-10} min"
    "$build/tests/fuzz_$target" -max_total_time=$((60 * ${MINUTES:-10})) -max_len=65536 -rss_limit_mb=2048 \
        -artifact_prefix="$build/findings/$target-" -print_final_stats=1 \
        "$build/grown/$target" "$build/fuzz-corpus/$target"
done
echo "no finding in: $targets"
