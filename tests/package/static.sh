#!/bin/sh
# One program file that needs no library and no file of the system: for any Linux of this processor, or of another one. Its time
# zones are built in, and used where the machine has none or older ones. As root on Debian 12 (packages are installed).
#   sh tests/package/static.sh [FOLDER [ARCHITECTURE]]      about 15 minutes on two cores
# FOLDER is build-static in the tree, and ARCHITECTURE this machine's, unless told; arm64 is built on any machine, by a compiler
# for it. Leaves FOLDER/hearwood-VERSION-linux-PROCESSOR.tar.xz: the program, the manual, man pages, completions, licences. Then
# tries it (static_check.sh): in an empty root, on other releases, on an old processor and an old kernel, and its demo tables
# against those of HEARWOOD=PROGRAM or build/hearwood byte for byte, which is built where it is not there; one for another
# processor under qemu-user, and its tables as near as its rounding allows (foreign_check.sh).
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
. "$here/debian_sources.sh"
. "$here/foreign.sh"
begin "${1:-$root/build-static}" "$here/static-packages.txt"
own=$(dpkg --print-architecture)
architecture=${2:-$own}
processor=$(uname -m)
tools= sysroot= toolchain=
if [ "$architecture" != "$own" ]; then
    [ "$architecture" = arm64 ] || { echo "no compiler for $architecture is named here; known: $own, arm64" >&2; exit 2; }
    processor=aarch64
    tools=aarch64-linux-gnu-
    install_packages "$here/arm64-packages.txt"
    # shellcheck disable=SC2046  # a list of words on purpose
    foreign_libraries "$architecture" $(sed 's/#.*//' "$root/sample-audio/packages.txt" "$here/static-packages.txt" | grep -e '-dev$')
    foreign_toolchain "$work/toolchain.cmake" aarch64-linux-gnu "$processor"
    toolchain=-DCMAKE_TOOLCHAIN_FILE=$work/toolchain.cmake
fi
archives=$cache/archives-$architecture
objects=$archives/objects
mkdir -p "$archives"

# archive NAME PACKAGE COMMAND: $archives/libNAME.a, made once by the command in the sources of Debian's PACKAGE.
archive() {
    [ ! -e "$archives/lib$1.a" ] || return 0
    echo "building lib$1.a"
    debian_source "$2"
    logged "$1" in_source "$2" "$3"
}
in_source() (cd "$cache/sources/$1" && eval "$2")
# objects NAME FILE.cpp...: the archive out of these files.
objects() {
    name=$1
    shift
    mkdir -p "$objects/$name"
    for file in "$@"; do
        "${tools}g++" ${sysroot:+--sysroot="$sysroot"} -std=c++20 -O2 -c $flags "$file" -o "$objects/$name/$(basename "$file").o" || return 1
    done
    "${tools}ar" rcs "$archives/lib$name.a" "$objects/$name"/*.o
}
# by_cmake FILE.a OPTION...
by_cmake() {
    file=$1
    shift
    cmake -S . -B "$objects/$file" -G Ninja -DCMAKE_BUILD_TYPE=Release -DBUILD_SHARED_LIBS=OFF ${toolchain:+"$toolchain"} "$@" &&
        cmake --build "$objects/$file" -j "$jobs" &&
        cp "$(find "$objects/$file" -name "$file" -type f | head -n 1)" "$archives"
}
flags="-Iinclude"
archive fmt fmtlib 'objects fmt src/format.cc src/os.cc'
flags="-Iinclude -DUSE_OS_TZDB=1 -DHAS_REMOTE_API=0"
archive date-tz howardhinnant-date 'objects date-tz src/tz.cpp'
archive tbb onetbb 'by_cmake libtbb.a -DTBB_TEST=OFF -DTBB_STRICT=OFF -DTBB_DISABLE_HWLOC_AUTOMATIC_SEARCH=ON -DTBBMALLOC_BUILD=OFF'
archive soxr libsoxr 'by_cmake libsoxr.a -DBUILD_TESTS=OFF -DBUILD_EXAMPLES=OFF -DWITH_OPENMP=OFF -DWITH_LSR_BINDINGS=OFF'
archive mpg123 mpg123 'cd ports/cmake && by_cmake libmpg123.a -DBUILD_PROGRAMS=OFF -DBUILD_LIBOUT123=OFF'
# What the machine's own libsndfile opens, this one opens: MP3 too.
archive sndfile libsndfile 'by_cmake libsndfile.a -DBUILD_PROGRAMS=OFF -DBUILD_EXAMPLES=OFF -DBUILD_TESTING=OFF -DENABLE_MPEG=ON \
    -DCMAKE_LIBRARY_PATH="$archives" -DCMAKE_FIND_LIBRARY_SUFFIXES=.a'
archive netcdf netcdf 'by_cmake libnetcdf.a -DENABLE_DAP=OFF -DENABLE_BYTERANGE=OFF -DENABLE_NCZARR=OFF -DENABLE_PLUGINS=OFF \
    -DENABLE_EXAMPLES=OFF -DENABLE_TESTS=OFF -DBUILD_TESTING=OFF -DBUILD_UTILITIES=OFF -DENABLE_FILTER_TESTING=OFF'
if [ ! -e "$archives/libtomlplusplus.a" ]; then  # what Debian has as a shared library is this file compiled
    printf '#define TOML_HEADER_ONLY 0\n#define TOML_IMPLEMENTATION\n#include <toml++/toml.h>\n' >"$archives/toml.cpp"
    flags=
    objects tomlplusplus "$archives/toml.cpp"
fi
zones=$work/zones.tar
tar --format=ustar --sort=name --mtime=@0 --owner=0 --group=0 --numeric-owner -C /usr/share/zoneinfo --exclude=./right \
    --exclude=./posix --exclude=./localtime --exclude=./posixrules -cf "$zones" .

echo "building the program"
# A folder's files as one, as README's two commands build them; a build that is there goes on as it is.
as_one=
[ -e "$work/CMakeCache.txt" ] || as_one="-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=20"
# shellcheck disable=SC2086  # a list of words on purpose
logged program-configure cmake -S "$root" -B "$work" -G Ninja $as_one ${toolchain:+"$toolchain"} -DHEARWOOD_STATIC=ON -DHEARWOOD_TESTS=OFF \
    -DHEARWOOD_ARCHIVES="$archives" -DHEARWOOD_ZONES_TAR="$zones"
logged program cmake --build "$work" -j "$jobs" --target hearwood reference

# The archive.
version=$(sed -n 's/^project(hearwood VERSION \([0-9.]*\).*/\1/p' "$root/CMakeLists.txt")
name=hearwood-$version-linux-$processor
rm -rf "${work:?}/$name"
mkdir "$work/$name"
cp "$work/hearwood" "$root/COPYING" "$root/README.md" "$work/$name"
"${tools}strip" "$work/$name/hearwood"
cp -r "$work/generated/reference/man" "$root/docs" "$work/$name"
mkdir "$work/$name/completions" "$work/$name/licences"
cp "$work/generated/reference/hearwood.bash" "$work/generated/reference/_hearwood" "$work/$name/completions"
for package in libc6-dev libstdc++-12-dev libflac-dev libogg-dev libvorbis-dev libopus-dev libfftw3-dev libsqlite3-dev libssl-dev \
    libpng-dev zlib1g-dev libminizip-dev libmp3lame-dev libcsv-dev libexpat1-dev libhdf5-dev libaec-dev libcli11-dev libeigen3-dev libboost-dev nlohmann-json3-dev libtomlplusplus-dev tzdata; do
    cp "/usr/share/doc/$package/copyright" "$work/$name/licences/$package" 2>/dev/null || echo "no licence text of $package" >&2
done
for package in fmtlib howardhinnant-date onetbb mpg123 libsndfile libsoxr netcdf; do  # built here
    cp "$cache/sources/$package/debian/copyright" "$work/$name/licences/$package"
done
# What those texts point to on a Debian machine.
mkdir "$work/$name/licences/common-licenses"
for text in $(grep -rhoE '/usr/share/common-licenses/[A-Za-z0-9.+-]*[A-Za-z0-9]' "$work/$name/licences" "$root/COPYING" | sort -u); do
    cp -L "$text" "$work/$name/licences/common-licenses"
done
# The page that measures has its sources in the same place.
sort -u "$cache/sources/VERSIONS" | grep -vE '^(fftw3|flac|libogg|libvorbis|opus) ' >"$work/$name/licences/VERSIONS"
printf 'FROM scratch\nCOPY hearwood /hearwood\nENTRYPOINT ["/hearwood"]\n' >"$work/$name/Containerfile"
(cd "$work" && tar --sort=name --mtime=@0 --owner=0 --group=0 --numeric-owner -cJf "$name.tar.xz" "$name")
du -h "$work/$name/hearwood" "$work/$name.tar.xz"

other=${HEARWOOD:-$root/build/hearwood}
[ -x "$other" ] || logged hearwood build OFF hearwood
if [ "$architecture" != "$own" ]; then
    sh "$here/foreign_check.sh" "$work/$name/hearwood" "$other" "$processor"
    exit
fi
. "$here/debian_root.sh"
for suite in bookworm trixie; do bare_root "$suite"; done
sh "$here/static_check.sh" "$work/$name/hearwood" "$other"
