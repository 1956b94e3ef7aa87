#!/bin/sh
# The suite under the sanitizers: addresses and undefined behaviour, then threads.
#   sh tests/sanitize.sh [ctest options]
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/tests/prepare.sh"
install_packages "$root/tests/packages.txt"
list=$(mktemp)
printf 'clang\nlibclang-rt-14-dev\n' >"$list"
install_packages "$list"
rm -f "$list"
# Float conversion of samples beyond an integer's range is checked where it happens; everything else stops.
export UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1
# The fault tests preload a library of their own, which must not come before the sanitizer's.
export ASAN_OPTIONS=detect_leaks=1:verify_asan_link_order=0
# oneTBB is not built for the thread sanitizer: what it reports inside of it is not ours to fix. The long history is for
# such reports too, which are only known by the other thread's stack.
printf 'race:libtbb\nrace:tbb::detail\n' >"$root/.tsan-suppressions"
export TSAN_OPTIONS="suppressions=$root/.tsan-suppressions ignore_noninstrumented_modules=1 history_size=7"
for kind in address,undefined thread; do
    build=$root/build-$(echo "$kind" | cut -d, -f1)
    # clang sees more that is undefined (an offset from a pointer to nothing, say), and builds Eigen in a third of the memory.
    compiler=clang++
    [ "$kind" = thread ] && compiler=g++
    cmake -S "$root" -B "$build" -G Ninja -DHEARWOOD_SANITIZE="$kind" -DCMAKE_CXX_COMPILER="$compiler" -DHEARWOOD_WERROR=OFF -DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=20 >/dev/null
    cmake --build "$build"
    (cd "$build" && ctest --output-on-failure "$@")
done
rm -f "$root/.tsan-suppressions"
