# What tests/package/static.sh and tests/browser/build.sh share: a folder of theirs that may grow, and libraries from
# Debian's source packages. Sourced with `root` set to the top of the tree. What this machine's apt is set to stays as it is.
. "$root/tests/prepare.sh"

# begin FOLDER PACKAGE_LIST: sets `work` to the folder's whole path and `jobs`, and installs what is wanted.
begin() {
    mkdir -p "$1"
    work=$(cd "$1" && pwd)
    jobs=${HEARWOOD_JOBS:-$(nproc)}
    install_packages "$root/sample-audio/packages.txt"
    install_packages "$2"
}

# logged NAME COMMAND...: its output is kept in $work/NAME.log, and the end of it shown where it fails.
logged() {
    log=$work/$1.log
    shift
    "$@" >"$log" 2>&1 && return 0
    tail -n 30 "$log" >&2
    echo "all of it is in $log" >&2
    exit 1
}

# debian_source PACKAGE: the sources of Debian's PACKAGE, patched as Debian has them, in $work/sources/PACKAGE; their version
# is noted in $work/sources/VERSIONS. Nothing is taken before apt has held it against Debian's signatures.
debian_source() {
    [ ! -d "$work/sources/$1" ] || return 0
    mkdir -p "$work/sources/lists/partial"
    if [ ! -e "$work/sources/sources.list" ]; then
        . /etc/os-release
        apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' |
            awk -v own="$VERSION_CODENAME" '$2 == own && $3 == "main" { print "deb-src", $1, $2, $3; exit }' \
                >"$work/sources/sources.list"
        [ -s "$work/sources/sources.list" ] || { echo "apt of this machine has no source of Debian's main" >&2; exit 1; }
        source_apt update -qq
    fi
    (cd "$work/sources" && source_apt source -qq --download-only "$1" && rm -rf "$1.part" &&
        dpkg-source --no-check -x "$1"_*.dsc "$1.part" >/dev/null && mv "$1.part" "$1")
    echo "$1 $(sed -n 's/^Version: //p' "$work/sources/$1"_*.dsc | head -n 1)" >>"$work/sources/VERSIONS"
}

source_apt() {
    apt-get -o Dir::Etc::sourcelist="$work/sources/sources.list" -o Dir::Etc::sourceparts=- \
        -o Dir::State::lists="$work/sources/lists" -o Dir::Cache::srcpkgcache= -o Dir::Cache::pkgcache= \
        -o APT::Sandbox::User=root "$@"
}
