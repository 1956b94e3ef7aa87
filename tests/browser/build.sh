#!/bin/sh
# The page that measures: one HTML file with the program's own measuring code in it, compiled by Debian's emscripten. Then it is
# opened from disk in Chromium with the network off and held to the program (measure_page_test.mjs). As root on Debian 12
# (packages are installed; npm fetches what drives the browser).
#   sh tests/browser/build.sh [FOLDER]        default: build-browser in the tree; HEARWOOD=PROGRAM: what it is held to,
#                                             else build/hearwood, which is built where it is not there
# Leaves FOLDER/measure.html.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
. "$root/tests/package/debian_sources.sh"
begin "${1:-$root/build-browser}" "$here/packages.txt"
prefix=$cache/wasm
# Where Debian has what its emscripten asks node.js for: a vendor's node.js does not look there by itself.
export NODE_PATH=/usr/share/nodejs

# clang itself compiles as emcc would have it, which takes a second longer to start, for each of a thousand files. Nothing
# is linked before the end, so cmake's questions about functions are all answered with yes.
cat >"$work/clang.cmake" <<EOF
set(CMAKE_SYSTEM_NAME Linux)
set(CMAKE_SYSTEM_PROCESSOR wasm32)
set(CMAKE_C_COMPILER $(em-config LLVM_ROOT)/clang)
set(CMAKE_CXX_COMPILER $(em-config LLVM_ROOT)/clang++)
set(CMAKE_C_COMPILER_TARGET wasm32-unknown-emscripten)
set(CMAKE_CXX_COMPILER_TARGET wasm32-unknown-emscripten)
set(CMAKE_SYSROOT $(em-config CACHE)/sysroot)
set(CMAKE_AR $(em-config LLVM_ROOT)/llvm-ar)
set(CMAKE_RANLIB $(em-config LLVM_ROOT)/llvm-ranlib)
set(CMAKE_TRY_COMPILE_TARGET_TYPE STATIC_LIBRARY)
set(CMAKE_FIND_ROOT_PATH $prefix)
set(CMAKE_FIND_ROOT_PATH_MODE_PROGRAM NEVER)
set(CMAKE_FIND_ROOT_PATH_MODE_LIBRARY ONLY)
set(CMAKE_FIND_ROOT_PATH_MODE_INCLUDE ONLY)
set(CMAKE_FIND_ROOT_PATH_MODE_PACKAGE ONLY)
EOF
flags="-DEMSCRIPTEN -Dunix -D__unix -D__unix__ -fvisibility=default -mllvm -combiner-global-alias-analysis=false"
flags="$flags -mllvm -enable-emscripten-sjlj -mllvm -disable-lsr -O3"
cxx_flags="$flags -msimd128 -Xclang -iwithsysroot/include/compat -D_LIBCPP_ABI_VERSION=2 -fno-threadsafe-statics -fexceptions -mllvm -enable-emscripten-cxx-exceptions"

# library NAME PACKAGE OPTION...: Debian's PACKAGE as archives in $prefix, by its own cmake; with $vectors among its flags.
# Debian 12's clang spoils libvorbis where it makes vectors of it (-msimd128: every Ogg Vorbis sound came out wrong), so only
# FFTW and the program's own code have them.
vectors=
library() {
    name=$1
    package=$2
    shift 2
    [ ! -e "$prefix/$name.done" ] || return 0
    echo "building $name"
    debian_source "$package"
    logged "$name-configure" cmake -S "$cache/sources/$package" -B "$prefix/build/$name" -G Ninja -DCMAKE_BUILD_TYPE=Release \
        -DCMAKE_TOOLCHAIN_FILE="$work/clang.cmake" -DCMAKE_C_FLAGS="$flags $vectors" -DBUILD_SHARED_LIBS=OFF \
        -DBUILD_TESTING=OFF -DCMAKE_INSTALL_PREFIX="$prefix" "$@"
    logged "$name" cmake --build "$prefix/build/$name" -j "$jobs" --target install
    touch "$prefix/$name.done"
}
mkdir -p "$prefix"
library ogg libogg -DINSTALL_DOCS=OFF
library vorbis libvorbis
debian_source opus
: >"$cache/sources/opus/opus_buildtype.cmake"  # left out of its release; it would choose a default that is given here
library opus opus -DOPUS_STACK_PROTECTOR=OFF
debian_source flac
sed -i '/microbench/d' "$cache/sources/flac/CMakeLists.txt"  # a program, and no switch for it
library flac flac -DBUILD_PROGRAMS=OFF -DBUILD_EXAMPLES=OFF -DBUILD_DOCS=OFF -DINSTALL_MANPAGES=OFF -DBUILD_CXXLIBS=OFF \
    -DWITH_STACK_PROTECTOR=OFF
library sndfile libsndfile -DBUILD_PROGRAMS=OFF -DBUILD_EXAMPLES=OFF -DENABLE_MPEG=OFF -DINSTALL_MANPAGES=OFF
library soxr libsoxr -DBUILD_TESTS=OFF -DBUILD_EXAMPLES=OFF -DWITH_OPENMP=OFF -DWITH_LSR_BINDINGS=OFF
vectors=-msimd128
# In single precision, and in double for floating-point and lossy recordings.
library fftw3f fftw3 -DENABLE_FLOAT=ON -DBUILD_TESTS=OFF -DDISABLE_FORTRAN=ON
library fftw3 fftw3 -DBUILD_TESTS=OFF -DDISABLE_FORTRAN=ON

# The program's code: what measuring one recording takes, and nothing of surveys, databases or threads.
debian_source fmtlib
mkdir -p "$work/include"  # header-only, without the rest of this machine's /usr/include
ln -sfn /usr/include/nlohmann "$work/include/nlohmann"
version=$(sed -n 's/^project(hearwood VERSION \([0-9.]*\).*/\1/p' "$root/CMakeLists.txt")
sources=$(
    cd "$root/src" && ls platform/file_status.cpp platform/folder.cpp platform/open_file.cpp platform/standard_gaps.cpp \
        base/csv_cell.cpp base/error.cpp base/text.cpp base/wall_time.cpp statistics/quantile.cpp survey/decisions.cpp audio/*.cpp spectrum/*.cpp index/*.cpp index/engine/*.cpp \
        screen/*.cpp measure/segment_measurer.cpp measure/measured_rate.cpp measure/feed_samples.cpp measure/hole_finder.cpp measure/recording_facts.cpp \
        store/recording_row.cpp picture/spectrogram.cpp picture/spectrogram_drawing.cpp picture/axes.cpp picture/font.cpp \
        picture/image.cpp picture/level_field.cpp picture/palette.cpp browser/*.cpp |
        grep -vE 'kernels_v3|flac_writer|wave_writer|silence|stretch|resample|holds_nothing|recorder_mark'
)
{
    echo "cmake_minimum_required(VERSION 3.22)"
    echo "project(page CXX)"
    echo "set(CMAKE_CXX_STANDARD 20)"
    echo "include_directories($root/src)"
    echo "include_directories(SYSTEM $prefix/include $work/include $cache/sources/fmtlib/include)"
    # A folder's files as one, as README's two commands build them.
    echo "set(CMAKE_UNITY_BUILD ON)"
    echo "set(CMAKE_UNITY_BUILD_BATCH_SIZE 20)"
    echo "add_library(hearwood STATIC $cache/sources/fmtlib/src/format.cc)"
    # shellcheck disable=SC2086  # a list of words on purpose
    for folder in $(dirname $sources | cut -d / -f 1 | sort -u); do
        echo "add_library($folder OBJECT"
        for file in $sources; do case $file in "$folder"/*) echo "  $root/src/$file" ;; esac; done
        echo ")"
        echo "target_sources(hearwood PRIVATE \$<TARGET_OBJECTS:$folder>)"
    done
} >"$work/CMakeLists.txt"
logged program-configure cmake -S "$work" -B "$work/program" -G Ninja -DCMAKE_BUILD_TYPE=Release \
    -DCMAKE_TOOLCHAIN_FILE="$work/clang.cmake" -DCMAKE_CXX_FLAGS="$cxx_flags"
logged program cmake --build "$work/program" -j "$jobs"
exports=_hw_failure,_hw_header,_hw_open,_hw_measure_next,_hw_facts,_hw_lines,_hw_paint,_hw_paint_next,_hw_picture,_hw_palette,_hw_close,_malloc,_free
link="-sMODULARIZE=1 -sEXPORT_NAME=createHearwood -sENVIRONMENT=worker -sALLOW_MEMORY_GROWTH=1 -sFILESYSTEM=1 -lworkerfs.js"
link="$link -sEXPORTED_FUNCTIONS=$exports -sEXPORTED_RUNTIME_METHODS=cwrap,UTF8ToString,FS,WORKERFS -sTOTAL_STACK=2097152"
libraries=
for name in sndfile FLAC vorbisenc vorbis opus ogg fftw3f fftw3 soxr; do libraries="$libraries $prefix/lib/lib$name.a"; done
# shellcheck disable=SC2086  # lists of words on purpose
logged link em++ -O3 -msimd128 -fexceptions -Wl,--whole-archive "$work/program/libhearwood.a" -Wl,--no-whole-archive $libraries $link \
    -o "$work/program/hearwood.js"
python3 "$here/assemble.py" "$root/src" "$work/program" "$version" "$work/measure.html"
du -h "$work/measure.html"

# Held to the program.
program=${HEARWOOD:-$root/build/hearwood}
[ -x "$program" ] || logged hearwood build OFF hearwood
mkdir -p "$work/tools"
cp "$here/package.json" "$here/package-lock.json" "$work/tools"
logged tools npm ci --prefix "$work/tools" --ignore-scripts --prefer-offline --no-audit --no-fund --loglevel=error
rm -rf "${work:?}/sounds"
logged sounds /usr/bin/python3 "$here/measure_sounds.py" "$program" "$root/sample-audio" "$work/sounds"
node "$here/measure_page_test.mjs" "$work/measure.html" "$work/sounds" "$work/tools"
rm -rf "${work:?}/sounds"
