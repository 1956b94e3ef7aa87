#!/bin/sh
# Installs the Debian package on a clean Debian 12 in a folder of its own (debootstrap, as root) with nothing but what the
# package itself asks for, and runs the demo there, LANG=C. Where packages come from is read from this machine's apt.
#   sh tests/package/clean-install.sh BUILD_FOLDER
set -eu
build=$(cd "${1:?usage: clean-install.sh BUILD_FOLDER}" && pwd)
[ "$(id -u)" = 0 ] || { echo "a clean system in a folder needs root" >&2; exit 2; }
command -v debootstrap >/dev/null || { echo "install debootstrap first" >&2; exit 2; }
# In a mount namespace of its own: what debootstrap mounts is gone at the end, whatever happens.
[ "${HEARWOOD_APART:-}" ] || HEARWOOD_APART=1 exec unshare --mount sh "$0" "$build"

mirror=$(apt-get indextargets --format '$(REPO_URI) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' |
    awk '$2 == "bookworm" && $3 == "main" { print $1; exit }')
[ "$mirror" ] || { echo "apt of this machine has no source of Debian 12 (bookworm main)" >&2; exit 2; }

scratch=$(mktemp -d "${TMPDIR:-/tmp}/hearwood-clean-XXXXXX")
trap 'rm -rf --one-file-system "$scratch"' EXIT
trap 'exit 1' INT TERM
root=$scratch/debian
# fail WORDS LOG: the end of the log, for whoever mends it.
fail() { echo "$1" >&2; tail -n 20 "$2" >&2; exit 1; }
inside() { env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C HOME=/root chroot "$root" "$@"; }

(cd "$build" && cpack -G DEB -B "$scratch/out") >"$scratch/cpack.log" 2>&1 || fail "cpack failed" "$scratch/cpack.log"
debootstrap --variant=minbase bookworm "$root" "$mirror" >"$scratch/debootstrap.log" 2>&1 ||
    fail "debootstrap failed" "$scratch/debootstrap.log"
cp "$scratch"/out/hearwood_*.deb "$root/root/hearwood.deb"
DEBIAN_FRONTEND=noninteractive inside apt-get install -y --no-install-recommends /root/hearwood.deb \
    >"$scratch/install.log" 2>&1 || fail "the package does not install" "$scratch/install.log"
echo "installed on Debian $(cat "$root/etc/debian_version"); the package brought $(
    grep -c '^Setting up' "$scratch/install.log") packages"

inside hearwood --version
inside hearwood demo /root/demo --quiet >"$scratch/demo.log" 2>&1 || fail "demo failed" "$scratch/demo.log"
code=0
inside hearwood run /root/demo --quiet >"$scratch/run.log" 2>&1 || code=$?
# The demo holds a few broken recordings on purpose: 1 says that they are listed.
[ "$code" -le 1 ] || fail "run ended with $code" "$scratch/run.log"
tail -n 12 "$scratch/run.log"
for file in tables/segments.csv tables/contrasts.csv report/index.html; do
    [ -s "$root/root/demo/hearwood/$file" ] || fail "run left no $file" "$scratch/run.log"
done
inside hearwood spectra /root/demo --out /root/spectra.nc --quiet >"$scratch/spectra.log" 2>&1 ||
    fail "spectra failed (the NetCDF library is loaded by name)" "$scratch/spectra.log"
inside dpkg --remove hearwood >"$scratch/remove.log" 2>&1 || fail "it cannot be removed" "$scratch/remove.log"
[ ! -e "$root/usr/share/doc/hearwood" ] && [ ! -e "$root/usr/bin/hearwood" ] ||
    fail "removing it left files" "$scratch/remove.log"
echo "clean install: demo, run (exit code $code) and spectra went well; removed without a trace"
