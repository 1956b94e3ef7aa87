#!/bin/sh
# The release file as a container with nothing else in it: builds its Containerfile (FROM scratch: nothing is fetched), starts it
# without a network, and makes and runs the demo on a folder of this machine. With buildah and crun out of Debian, which need no
# service; the image is what any runner of OCI images takes. As root on Debian 12.
#   sh tests/package/container_check.sh FOLDER      FOLDER: what hearwood-VERSION-linux-PROCESSOR.tar.xz holds
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
folder=$(cd "${1:?usage: container_check.sh FOLDER}" && pwd)
. "$root/tests/prepare.sh"
install_packages "$here/container-packages.txt"
scratch=$(mktemp -d)
trap 'rm -rf --one-file-system "$scratch"' EXIT
trap 'exit 1' INT TERM
# Its store goes with the test; vfs works on any file system.
own_buildah() { buildah --root "$scratch/store" --runroot "$scratch/run" --storage-driver vfs "$@"; }
own_buildah build --quiet --isolation chroot --file "$folder/Containerfile" --tag hearwood "$folder" >"$scratch/build.log" 2>&1 ||
    { cat "$scratch/build.log"; echo "the Containerfile does not build" >&2; exit 1; }
own_buildah push --quiet hearwood "oci:$scratch/image:hearwood"
echo "image: $(du -sh "$scratch/image" | cut -f1), entry point $(own_buildah inspect --type image --format '{{.OCIv1.Config.Entrypoint}}' hearwood)"
container=$(own_buildah from --pull-never hearwood)
mkdir "$scratch/data"
in_container() {
    own_buildah run --isolation oci --runtime crun --network none --volume "$scratch/data:/data" "$container" -- /hearwood "$@"
}
# Without control groups and limits of its own, which a machine that is itself a guest may refuse.
in_chroot() {
    unshare --net buildah --root "$scratch/store" --runroot "$scratch/run" --storage-driver vfs \
        run --isolation chroot --volume "$scratch/data:/data" "$container" -- /hearwood "$@"
}
how=in_container
if ! in_container --version >"$scratch/start.log" 2>&1; then
    how=in_chroot
    echo "this machine runs no container of crun's ($(head -n 1 "$scratch/start.log" | sed 's/.*\[.*\]: //')): its files alone, by chroot"
fi
inside() { "$how" "$@"; }
inside --version
inside demo /data/demo --quiet
code=0
inside run /data/demo --quiet >"$scratch/run.log" 2>&1 || code=$?
# The demo holds a few broken recordings on purpose: 1 says that they are listed.
[ "$code" = 1 ] || { tail -n 20 "$scratch/run.log"; echo "run ended with $code" >&2; exit 1; }
for file in tables/segments.csv tables/contrasts.csv report/index.html; do
    [ -s "$scratch/data/demo/hearwood/$file" ] || { echo "run left no $file" >&2; exit 1; }
done
echo "the image with the program alone ($how): starts without a network; demo and run went well, on a folder of the machine"
