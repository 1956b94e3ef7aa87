#!/bin/sh
# Tries a program file for another processor, under qemu-user: in an empty root that holds it and the emulator alone, and its
# demo's tables against another build's, as near as its rounding allows.      sh foreign_check.sh PROGRAM OTHER_PROGRAM PROCESSOR
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$1
other=$2
processor=${3:?usage: foreign_check.sh PROGRAM OTHER_PROGRAM PROCESSOR}
. "$here/apart.sh"
cp "$(command -v "qemu-$processor-static")" "$empty/qemu"
emulated() { env -i "$chroot" "$empty" /qemu /hearwood "$@"; }

emulated --version
# One thread writes the bytes that many write, and the emulator is safest with one.
emulated demo /srv/demo --quiet >"$scratch/log" 2>&1 || { cat "$scratch/log"; exit 1; }
code=0
emulated run /srv/demo --quiet >"$scratch/log" 2>&1 || code=$?
# The demo holds a few broken recordings on purpose: 1 says that they are listed.
[ "$code" = 1 ] || { tail -n 20 "$scratch/log"; echo "run ended with $code" >&2; exit 1; }
[ -s "$empty/srv/demo/hearwood/report/index.html" ] || { echo "run left no report" >&2; exit 1; }
echo "an empty root with nothing but the emulator: starts; demo and run went well"

"$other" demo "$scratch/other" --quiet >/dev/null
"$other" run "$scratch/other" --quiet >/dev/null 2>&1 || [ $? = 1 ]
# The same recordings measured there; and, of what was measured here, everything that comes after.
for name in measured remade; do
    cp -r "$scratch/other" "$empty/srv/$name"
    rm -r "$empty/srv/$name/hearwood/tables" "$empty/srv/$name/hearwood/report"
done
rm -r "$empty/srv/measured/hearwood"
for name in measured remade; do
    emulated run "/srv/$name" --quiet >"$scratch/log" 2>&1 || [ $? = 1 ] || { tail -n 20 "$scratch/log"; exit 1; }
done
/usr/bin/python3 "$here/tables_alike.py" "$other" "$scratch/other" "$empty/srv/measured/hearwood/tables" "$empty/srv/remade/hearwood/tables"
