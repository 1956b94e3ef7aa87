#!/bin/sh
# The page that measures: one HTML file with the program's own measuring code in it, compiled by Debian's emscripten.
# As root on Debian 12 (packages are installed).
#   sh tests/browser/build.sh [FOLDER]        default: build-browser in the tree; about 10 minutes on two cores
# Leaves FOLDER/measure.html.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
work=${1:-$root/build-browser}
mkdir -p "$work"
work=$(cd "$work" && pwd)
. "$root/tests/prepare.sh"
. "$root/tests/package/debian_sources.sh"
install_packages "$root/sample-audio/packages.txt"
install_packages "$here/packages.txt"
jobs=${HEARWOOD_JOBS:-$(nproc)}
prefix=$work/libraries
flags="-O3 -msimd128 -fexceptions"

# library NAME PACKAGE OPTION...: Debian's PACKAGE as archives in $prefix, by its own cmake.
library() {
    name=$1
    package=$2
    shift 2
    [ ! -e "$prefix/$name.done" ] || return 0
    echo "building $name"
    debian_source "$package"
    { emcmake cmake -S "$work/sources/$package" -B "$work/$name" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_FLAGS="$flags" \
        -DBUILD_SHARED_LIBS=OFF -DCMAKE_INSTALL_PREFIX="$prefix" -DCMAKE_FIND_ROOT_PATH="$prefix" "$@" &&
        cmake --build "$work/$name" -j "$jobs" && cmake --install "$work/$name"; } >"$work/$name.log" 2>&1 ||
        { tail -n 30 "$work/$name.log"; exit 1; }
    touch "$prefix/$name.done"
}
mkdir -p "$prefix"
library ogg libogg -DINSTALL_DOCS=OFF
library vorbis libvorbis
library opus opus -DOPUS_STACK_PROTECTOR=OFF
library flac flac -DBUILD_PROGRAMS=OFF -DBUILD_EXAMPLES=OFF -DBUILD_TESTING=OFF -DBUILD_DOCS=OFF -DINSTALL_MANPAGES=OFF -DBUILD_CXXLIBS=OFF \
    -DWITH_STACK_PROTECTOR=OFF
library sndfile libsndfile -DBUILD_PROGRAMS=OFF -DBUILD_EXAMPLES=OFF -DBUILD_TESTING=OFF -DENABLE_MPEG=OFF -DINSTALL_MANPAGES=OFF
# In single precision, and in double for floating-point and lossy recordings.
library fftw3f fftw3 -DENABLE_FLOAT=ON -DBUILD_TESTS=OFF -DDISABLE_FORTRAN=ON
library fftw3 fftw3 -DBUILD_TESTS=OFF -DDISABLE_FORTRAN=ON

# The program's code: what measuring one recording takes, and nothing of surveys, databases or threads.
if [ ! -e "$work/include/fmt" ]; then
    mkdir -p "$work/include"
    # Header-only libraries, without the rest of this machine's /usr/include.
    for library in fmt nlohmann; do ln -s "/usr/include/$library" "$work/include/$library"; done
fi
version=$(sed -n 's/^project(hearwood VERSION \([0-9.]*\).*/\1/p' "$root/CMakeLists.txt")
sources=$(
    cd "$root/src" && ls platform/file_status.cpp platform/folder.cpp platform/open_file.cpp platform/standard_gaps.cpp \
        base/csv_cell.cpp base/error.cpp base/text.cpp base/wall_time.cpp audio/*.cpp spectrum/*.cpp index/*.cpp index/engine/*.cpp \
        screen/*.cpp measure/segment_measurer.cpp measure/feed_samples.cpp measure/hole_finder.cpp measure/recording_facts.cpp \
        store/recording_row.cpp picture/spectrogram.cpp picture/spectrogram_drawing.cpp picture/axes.cpp picture/font.cpp \
        picture/image.cpp picture/level_field.cpp picture/palette.cpp browser/*.cpp |
        grep -vE 'kernels_v3|flac_writer|wave_writer|silence|stretch|resample'
)
{
    echo "cmake_minimum_required(VERSION 3.22)"
    echo "project(page CXX)"
    echo "set(CMAKE_CXX_STANDARD 20)"
    echo "add_executable(hearwood"
    for file in $sources; do echo "  $root/src/$file"; done
    echo ")"
    echo "target_include_directories(hearwood PRIVATE $root/src SYSTEM $prefix/include $work/include)"
    echo "target_compile_definitions(hearwood PRIVATE FMT_HEADER_ONLY=1)"
    echo "target_link_libraries(hearwood PRIVATE $prefix/lib/libsndfile.a $prefix/lib/libFLAC.a $prefix/lib/libvorbisenc.a
      $prefix/lib/libvorbis.a $prefix/lib/libopus.a $prefix/lib/libogg.a $prefix/lib/libfftw3f.a $prefix/lib/libfftw3.a)"
} >"$work/CMakeLists.txt"
exports=_hw_header,_hw_open,_hw_measure_next,_hw_facts,_hw_lines,_hw_paint,_hw_paint_next,_hw_picture,_hw_close,_malloc,_free
link="-sMODULARIZE=1 -sEXPORT_NAME=createHearwood -sENVIRONMENT=worker -sALLOW_MEMORY_GROWTH=1 -sFILESYSTEM=1 -lworkerfs.js"
link="$link -sEXPORTED_FUNCTIONS=$exports -sEXPORTED_RUNTIME_METHODS=cwrap,UTF8ToString,FS,WORKERFS -sSTACK_SIZE=2097152"
emcmake cmake -S "$work" -B "$work/program" -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_CXX_FLAGS="$flags" \
    -DCMAKE_EXE_LINKER_FLAGS="$link" >"$work/program.log" 2>&1 && cmake --build "$work/program" -j "$jobs" >>"$work/program.log" 2>&1 ||
    { tail -n 30 "$work/program.log"; exit 1; }

python3 "$here/assemble.py" "$root/src" "$work/program" "$version" "$work/measure.html"
du -h "$work/measure.html"
