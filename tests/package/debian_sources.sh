# Libraries from Debian's source packages. Sourced by tests/package/static.sh and tests/browser/build.sh; `work` is a folder
# of theirs that may grow. What this machine's apt is set to stays as it is.

# debian_source PACKAGE: the sources of Debian's PACKAGE, patched as Debian has them, in $work/sources/PACKAGE; their version
# is noted in $work/sources/VERSIONS.
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
    (cd "$work/sources" && source_apt source -qq --download-only "$1" && dpkg-source --no-check -x "$1"_*.dsc "$1" >/dev/null)
    echo "$1 $(sed -n 's/^Version: //p' "$work/sources/$1"_*.dsc | head -n 1)" >>"$work/sources/VERSIONS"
}

source_apt() {
    apt-get -o Dir::Etc::sourcelist="$work/sources/sources.list" -o Dir::Etc::sourceparts=- \
        -o Dir::State::lists="$work/sources/lists" -o Dir::Cache::srcpkgcache= -o Dir::Cache::pkgcache= \
        -o APT::Sandbox::User=root "$@"
}
