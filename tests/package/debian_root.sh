# A Debian of its own in a folder, as a user's machine would be. Sourced by fresh.sh, clean-install.sh and offline.sh,
# which run as root. Where packages come from, and how the network is reached, is read from this machine: its apt,
# its resolver, its certificates, its proxy variables.
#
# Bare roots are kept in HEARWOOD_ROOTS (default /var/tmp/hearwood-roots) and copied for each use.
roots=${HEARWOOD_ROOTS:-/var/tmp/hearwood-roots}

# fail WORDS [LOG]: the end of the log, for whoever looks into it.
fail() {
    echo "$1" >&2
    if [ "${2:-}" ]; then tail -n 40 "$2" >&2; fi
    exit 1
}

# apart SCRIPT [ARGUMENT...]: runs the calling script once more with mounts and processes of its own; what it mounts
# and starts is gone at its end, whatever happens.
apart() {
    [ "$(id -u)" = 0 ] || fail "a Debian in a folder needs root"
    [ "${HEARWOOD_APART:-}" ] && return 0
    HEARWOOD_APART=1 exec unshare --mount --pid --fork --kill-child --mount-proc sh "$@"
}

# bare_root SUITE: makes $roots/SUITE (minbase, nothing else) unless it is there.
bare_root() {
    mkdir -p "$roots"
    # Two at once: the second waits for the first.
    exec 7>"$roots/$1.lock"
    flock 7
    if [ ! -d "$roots/$1" ]; then
        command -v debootstrap >/dev/null || install_debootstrap
        rm -rf --one-file-system "${roots:?}/$1.part"
        debootstrap --variant=minbase "$1" "$roots/$1.part" "$(own_mirror)" >"$roots/debootstrap-$1.log" 2>&1 ||
            fail "debootstrap $1 failed" "$roots/debootstrap-$1.log"
        mv "$roots/$1.part" "$roots/$1"
    fi
    exec 7>&-
}

install_debootstrap() {
    DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 install -y -qq debootstrap >"$roots/apt.log" 2>&1 ||
        fail "debootstrap cannot be installed" "$roots/apt.log"
}

# own_mirror: where this machine's apt gets Debian's main from.
own_mirror() {
    . /etc/os-release
    mirror=$(apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' |
        awk -v own="$VERSION_CODENAME" '$2 == own && $3 == "main" { print $1; exit }')
    [ "$mirror" ] || fail "apt of this machine has no source of Debian's main ($VERSION_CODENAME)"
    echo "$mirror"
}

# root_of SUITE: a copy in $root, with this machine's network and its own /proc, /sys, /dev. It goes at the end.
root_of() {
    bare_root "$1"
    scratch=$(mktemp -d "$roots/run-XXXXXX")
    trap 'leave' EXIT
    trap 'exit 1' INT TERM
    root=$scratch/debian
    cp -a "$roots/$1" "$root"
    # -L: both are links on many machines.
    cp -L /etc/resolv.conf "$root/etc/resolv.conf"
    if [ -e /etc/ssl/certs/ca-certificates.crt ]; then
        cp -L /etc/ssl/certs/ca-certificates.crt "$root/etc/this-network.crt"
    fi
    # It is thrown away at the end: packages need not be synced to the disk file by file, which takes most of the time.
    echo force-unsafe-io >"$root/etc/dpkg/dpkg.cfg.d/unsafe-io"
    mount -t proc proc "$root/proc"
    mount --rbind /sys "$root/sys"
    mount --rbind /dev "$root/dev"
}

leave() {
    for place in dev sys proc; do umount -R -l "$root/$place" || :; done
    # Never across a mount: what could not be unmounted is this machine's own.
    rm -rf --one-file-system "$scratch"
}

# inside COMMAND...: runs it in $root with nothing of this machine's environment but its proxies and certificates.
inside() {
    env -i PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin HOME=/root LANG=C \
        NODE_EXTRA_CA_CERTS=/etc/this-network.crt \
        ${http_proxy:+http_proxy="$http_proxy"} ${https_proxy:+https_proxy="$https_proxy"} \
        ${no_proxy:+no_proxy="$no_proxy"} ${npm_config_registry:+npm_config_registry="$npm_config_registry"} \
        chroot "$root" "$@"
}
