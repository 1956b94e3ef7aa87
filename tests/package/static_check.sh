#!/bin/sh
# Tries a program file that needs nothing: in an empty root, in the roots of other releases, on an old processor and an old
# kernel (qemu-user), and against another build of the program, table by table.      sh static_check.sh PROGRAM OTHER_PROGRAM
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$1
other=${2:?usage: static_check.sh PROGRAM OTHER_PROGRAM}
. "$here/apart.sh"

# try_in ROOT NAME: demo and run there, without a network, and nothing else of this machine's.
try_in() {
    env -i "$chroot" "$1" /hearwood --version
    env -i "$chroot" "$1" /hearwood demo /srv/demo --quiet >"$scratch/demo.log" 2>&1 || { cat "$scratch/demo.log"; exit 1; }
    code=0
    env -i "$chroot" "$1" /hearwood run /srv/demo --quiet >"$scratch/run.log" 2>&1 || code=$?
    # The demo holds a few broken recordings on purpose: 1 says that they are listed.
    [ "$code" = 1 ] || { tail -n 20 "$scratch/run.log"; echo "$2: run ended with $code" >&2; exit 1; }
    for file in tables/segments.csv tables/contrasts.csv report/index.html; do
        [ -s "$1/srv/demo/hearwood/$file" ] || { echo "$2: run left no $file" >&2; exit 1; }
    done
    echo "$2: starts; demo and run went well"
}
try_in "$empty" "an empty root"

mkdir "$empty/srv/demo/hearwood/spectra"
env -i "$chroot" "$empty" /hearwood spectra /srv/demo --out /srv/demo/hearwood/spectra/demo.nc >"$scratch/spectra.log" 2>&1 || { cat "$scratch/spectra.log"; exit 1; }
"$other" demo "$scratch/other" --quiet >/dev/null
"$other" run "$scratch/other" --quiet >/dev/null 2>&1 || [ $? = 1 ]
mkdir "$scratch/other/hearwood/spectra"
"$other" spectra "$scratch/other" --out "$scratch/other/hearwood/spectra/demo.nc" >/dev/null
for folder in tables spectra; do
    diff -r "$scratch/other/hearwood/$folder" "$empty/srv/demo/hearwood/$folder" >"$scratch/differences" || {
        head -n 5 "$scratch/differences"
        echo "the demo's $folder are not those of $other" >&2
        exit 1
    }
    echo "all $(find "$empty/srv/demo/hearwood/$folder" -type f | wc -l) files of the demo's $folder are those of $other, byte for byte"
done

# Real sounds against an independent implementation, and what the codecs built here make of a recording.
/usr/bin/python3 "$here/../../sample-audio/check.py" "$program" >"$scratch/check.log" || { tail -n 20 "$scratch/check.log"; exit 1; }
tail -n 1 "$scratch/check.log"
/usr/bin/python3 "$here/mp3_check.py" "$program" "$other"

# Started by itself, without a kernel's or a processor's younger gifts. There is no 64-bit processor of this kind that is too
# old, and one of another kind is told by whatever starts the program.
emulator=$(command -v "qemu-$(uname -m)-static") || { echo "qemu-user-static is not there" >&2; exit 1; }
old=$("$emulator" ${old_processor:--cpu core2duo} "$program" --version) || { echo "it does not start on an old processor" >&2; exit 1; }
case $old in
    *baseline*) echo "an old processor: starts, with the code for it" ;;
    *) echo "an old processor: '$old' does not speak of the baseline" >&2; exit 1 ;;
esac
old=$("$emulator" -r 2.6.32 "$program" --version 2>&1) && { echo "it starts on Linux 2.6.32, which is not promised" >&2; exit 1; }
case $old in
    *"Linux 3.2 or later is needed"*) echo "an old kernel (2.6.32): '$old'" ;;
    *) echo "an old kernel: it says only '$old'" >&2; exit 1 ;;
esac

# And without the system calls that came after Linux 3.2.
cp -r "$scratch/other" "$scratch/bare"
rm -r "$scratch/bare/hearwood"
/usr/bin/python3 "$here/old_kernel.py" "$program" run "$scratch/bare" --quiet >"$scratch/run.log" 2>&1 || [ $? = 1 ] ||
    { tail -n 20 "$scratch/run.log"; echo "it does not run with the system calls of Linux 3.2" >&2; exit 1; }
diff -r "$scratch/other/hearwood/tables" "$scratch/bare/hearwood/tables"
echo "with the system calls of Linux 3.2: run went well, with the same tables"

roots=${HEARWOOD_ROOTS:-/var/tmp/hearwood-roots}
for suite in bookworm trixie; do
    [ -d "$roots/$suite" ] || { echo "$suite: not tried, there is no root of it in $roots"; continue; }
    # On top of the bare root, so that nothing in it changes.
    mkdir -p "$scratch/upper" "$scratch/work" "$scratch/merged"
    mount -t tmpfs none "$scratch/upper"
    mkdir "$scratch/upper/changed" "$scratch/upper/work"
    mount -t overlay overlay -o "lowerdir=$roots/$suite,upperdir=$scratch/upper/changed,workdir=$scratch/upper/work" "$scratch/merged"
    cp "$program" "$scratch/merged/hearwood"
    try_in "$scratch/merged" "Debian $(cat "$roots/$suite/etc/debian_version")"
    umount "$scratch/merged" "$scratch/upper"
done
/usr/bin/python3 "$here/start_time.py" "$program" "$other"
