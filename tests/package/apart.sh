# Sourced by the checks of a program file, which is $program: as root, in a process tree of its own without a network and with
# mounts of its own. A program that needs libraries ends the check. Leaves $scratch, gone at the end, and in it $empty, a root
# that holds the program alone, as /hearwood.
[ "$(id -u)" = 0 ] || { echo "a root of its own needs root" >&2; exit 1; }
if [ -z "${HEARWOOD_APART:-}" ]; then
    HEARWOOD_APART=1 exec unshare --mount --net --pid --fork --kill-child sh "$0" "$@"
fi
if readelf -d "$program" | grep -q NEEDED; then
    echo "it needs libraries:" >&2
    readelf -d "$program" | grep NEEDED >&2
    exit 1
fi
scratch=$(mktemp -d)
trap 'rm -rf --one-file-system "$scratch"' EXIT
chroot=$(command -v chroot || echo /usr/sbin/chroot)
empty=$scratch/empty
mkdir -p "$empty/srv"
cp "$program" "$empty/hearwood"
