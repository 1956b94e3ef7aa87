#!/bin/sh
# What static.sh needs to build for another processor than this machine's: Debian's libraries of that processor, unpacked in a
# folder and installed nowhere, and how cmake finds them. Sourced behind debian_sources.sh, after begin.

# foreign_libraries ARCHITECTURE PACKAGE...: Debian's packages and all that they depend on, in $cache/sysroot-ARCHITECTURE, which is
# `sysroot` from then on. apt picks and checks them as for an empty machine of that architecture; this one's apt stays as it is.
foreign_libraries() {
    sysroot=$cache/sysroot-$1
    [ ! -d "$sysroot" ] || return 0
    echo "fetching Debian's libraries for $1"
    apt=$cache/apt-$1
    mkdir -p "$apt/lists/partial" "$apt/archives/partial"
    : >"$apt/status"
    . /etc/os-release
    apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' | sort -u |
        awk -v own="$VERSION_CODENAME" 'index($2, own) == 1 && $3 == "main" { print "deb", $1, $2, $3 }' >"$apt/sources.list"
    [ -s "$apt/sources.list" ] || { echo "apt of this machine has no source of Debian's main" >&2; exit 1; }
    foreign_apt "$1" update -qq
    architecture=$1
    shift
    logged "sysroot-$architecture" foreign_apt "$architecture" install -y --no-install-recommends --download-only "$@"
    rm -rf "$sysroot.part"
    mkdir "$sysroot.part"
    for package in "$apt"/archives/*.deb; do dpkg-deb -x "$package" "$sysroot.part" || exit 1; done
    rm -r "$apt"
    mv "$sysroot.part" "$sysroot"
}

foreign_apt() {
    architecture=$1
    shift
    apt-get -o Dir::Etc::sourcelist="$apt/sources.list" -o Dir::Etc::sourceparts=- -o Dir::State::lists="$apt/lists" \
        -o Dir::State::status="$apt/status" -o Dir::Cache::archives="$apt/archives" -o Dir::Cache::srcpkgcache= -o Dir::Cache::pkgcache= \
        -o APT::Sandbox::User=root -o APT::Architecture="$architecture" -o APT::Architectures="$architecture" "$@"
}

# foreign_toolchain FILE TRIPLET PROCESSOR: for cmake, and PKG_CONFIG_* in the environment. What the build makes and runs runs
# under qemu-user.
foreign_toolchain() {
    cat >"$1" <<END
set(CMAKE_SYSTEM_NAME Linux)
set(CMAKE_SYSTEM_PROCESSOR $3)
set(CMAKE_C_COMPILER $2-gcc)
set(CMAKE_CXX_COMPILER $2-g++)
set(CMAKE_SYSROOT $sysroot)
set(CMAKE_CROSSCOMPILING_EMULATOR $(command -v "qemu-$3-static"))
set(CMAKE_FIND_ROOT_PATH_MODE_PROGRAM NEVER)
set(CMAKE_FIND_ROOT_PATH_MODE_LIBRARY BOTH)  # those built here lie outside
set(CMAKE_FIND_ROOT_PATH_MODE_INCLUDE BOTH)
set(CMAKE_FIND_ROOT_PATH_MODE_PACKAGE ONLY)
END
    export PKG_CONFIG_SYSROOT_DIR="$sysroot"
    export PKG_CONFIG_LIBDIR="$sysroot/usr/lib/$2/pkgconfig:$sysroot/usr/share/pkgconfig"
}
