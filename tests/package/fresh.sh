#!/bin/sh
# The README's two commands as a new user meets them: a minimal Debian 12 (debootstrap, minbase, in a folder of its
# own), an empty clone of this tree's last commit, in a folder whose name has a space. Fails where either fails, and
# where a test was skipped. Run it whenever a list of packages changes; as root, some 20 minutes on two cores.
#   sh tests/package/fresh.sh
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/debian_root.sh"
apart "$here/fresh.sh"
root_of bookworm
folder="/srv/field work/hearwood"
git clone --quiet "$here/../.." "$root$folder" || fail "git cannot clone this tree"
echo "Debian $(cat "$root/etc/debian_version"), $(inside dpkg-query -W | wc -l) packages; commit $(git -C "$root$folder" log -1 --format='%h %s')"

# step NAME COMMAND: runs it in the clone, shows its end; the whole of it stays in $roots/fresh-NAME.log.
step() {
    echo "== $2 =="
    began=$(date +%s)
    inside sh -c "cd '$folder' && $2" >"$roots/fresh-$1.log" 2>&1 </dev/null ||
        fail "'$2' failed on a minimal Debian 12; all of it is in $roots/fresh-$1.log" "$roots/fresh-$1.log"
    tail -n 15 "$roots/fresh-$1.log"
    echo "($(($(date +%s) - began)) s)"
}
step demo "sh sample-audio/demo.sh"
step tests "sh tests/run.sh"
# What ctest, Catch2, unittest and the scripts say of a test that did not run. A file system that the kernel of this machine
# lacks is no package's fault: it is told, and does not fail.
log=$root$folder/build/Testing/Temporary/LastTest.log
of_kernel="skipped 'this kernel has no"
grep -n "$of_kernel" "$log" || true
excused=$(grep -c "$of_kernel" "$log" || true)
skipped=$(grep -oE '\(skipped=[0-9]+' "$log" | awk -F= '{ n += $2 } END { print n + 0 }')
if grep -nE '\*\*\*(Skipped|Not Run)|\((Skipped|Disabled|Not Run)\)|^ *skipped\b|did not run' "$roots/fresh-tests.log" "$log" ||
    [ "$skipped" -gt "$excused" ]; then
    fail "tests were skipped on a minimal Debian 12 ($skipped in unittest, $excused of them for the kernel): see above"
fi
step offline "unshare --net sh sample-audio/demo.sh"
echo "fresh: both commands went well, no test was skipped for want of a package, and the first works without a network afterwards"
