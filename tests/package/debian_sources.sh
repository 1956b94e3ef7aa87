# What tests/package/static.sh and tests/browser/build.sh share: a folder of theirs that may grow, and libraries from
# Debian's source packages. Sourced with `root` set to the top of the tree. What this machine's apt is set to stays as it is.
. "$root/tests/prepare.sh"

# Sources, and what was built of them, are kept in HEARWOOD_CACHE (default /var/tmp/hearwood-cache): a second run builds the
# program alone.

# begin FOLDER PACKAGE_LIST: sets `work` to the folder's whole path, `cache` to the kept one's and `jobs`, and installs what is wanted.
begin() {
    mkdir -p "$1"
    work=$(cd "$1" && pwd)
    jobs=${HEARWOOD_JOBS:-$(nproc)}
    install_packages "$root/sample-audio/packages.txt"
    install_packages "$2"
    # What was built for one release is not for the next.
    cache=${HEARWOOD_CACHE:-/var/tmp/hearwood-cache}/$(. /etc/os-release && echo "$ID-$VERSION_ID")
    mkdir -p "$cache/sources/lists/partial"
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

# debian_source PACKAGE: the sources of Debian's PACKAGE, patched as Debian has them, in $cache/sources/PACKAGE; their version
# is noted in $cache/sources/VERSIONS. Nothing is taken before apt has held it against Debian's signatures.
debian_source() {
    [ ! -d "$cache/sources/$1" ] || return 0
    if [ ! "${lists_read:-}" ]; then
        . /etc/os-release
        apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' |
            awk -v own="$VERSION_CODENAME" '$2 == own && $3 == "main" { print "deb-src", $1, $2, $3; exit }' \
                >"$cache/sources/sources.list"
        [ -s "$cache/sources/sources.list" ] || { echo "apt of this machine has no source of Debian's main" >&2; exit 1; }
        source_apt update -qq
        lists_read=1
    fi
    source_apt source -qq --print-uris "$1" >"$cache/sources/$1.files"
    # Not the authors' own signatures (.asc): some mirrors lack them, and Debian's, which apt checked, are over the same files.
    tr -d "'" <"$cache/sources/$1.files" | while read -r address file size sum; do
        case $file in *.asc) continue ;; esac
        /usr/lib/apt/apt-helper -qq -o APT::Sandbox::User=root download-file "$address" "$cache/sources/$file" "$sum" ||
            { echo "$file, $size bytes: cannot be had from $address" >&2; exit 1; }
    done
    rm -rf "$cache/sources/$1.part"
    (cd "$cache/sources" && dpkg-source --no-check -x "$1"_*.dsc "$1.part" >/dev/null && mv "$1.part" "$1")
    echo "$1 $(sed -n 's/^Version: //p' "$cache/sources/$1"_*.dsc | head -n 1)" >>"$cache/sources/VERSIONS"
}

source_apt() {
    apt-get -o Dir::Etc::sourcelist="$cache/sources/sources.list" -o Dir::Etc::sourceparts=- \
        -o Dir::State::lists="$cache/sources/lists" -o Dir::Cache::srcpkgcache= -o Dir::Cache::pkgcache= \
        -o APT::Sandbox::User=root "$@"
}
