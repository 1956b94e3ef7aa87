# Installs what the build and the tests need, and builds. Sourced by tests/run.sh and sample-audio/demo.sh
# with `root` set to the top of the tree. Once the packages are there it needs no network.

# missing_packages FILE: the packages named in FILE (one a line, # comments) that are not installed.
missing_packages() {
    for package in $(sed 's/#.*//' "$1"); do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null) || state=none
        [ "$state" = installed ] || printf '%s ' "$package"
    done
}

# install_packages FILE: brings in what is missing; Debian's node.js only where there is no npm at all, because beside a
# vendor's node.js the two packages clash, and not for the program alone out of a source package, which brings along what npm is needed for.
install_packages() {
    wanted=$(missing_packages "$1")
    if [ ! -e "$root/src/report/web/bundle" ] || [ "$1" != "$root/sample-audio/packages.txt" ]; then
        command -v npm >/dev/null 2>&1 || wanted="$wanted nodejs npm"
    fi
    [ -n "$(printf '%s' "$wanted" | tr -d ' ')" ] || return 0
    echo "installing: $wanted"
    if [ "$(id -u)" != 0 ]; then
        echo "these packages are missing: $wanted; run 'apt-get install $wanted' as root, then this script again" >&2
        exit 2
    fi
    # A fresh machine looks for updates of its own: wait for it. apt-get itself waits for dpkg's lock, not for the lists'.
    tries=1
    until apt-get -o DPkg::Lock::Timeout=300 update -qq; do
        [ "$tries" -lt 12 ] || exit 2
        tries=$((tries + 1))
        sleep 10
    done
    # shellcheck disable=SC2086  # a list of words on purpose
    DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 install -y -qq --no-install-recommends $wanted >/dev/null
}

# build TESTS(ON|OFF) [TARGET]: configures and builds in $root/build. A new build folder takes the files of each folder
# as one (CMAKE_UNITY_BUILD), which from nothing takes a third of the time; one that is there stays as it is. Both README
# commands build with the same options, so that the second goes on where the first ended.
build() {
    [ -e "$root/build/CMakeCache.txt" ] || as_one="-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=30"
    cmake -S "$root" -B "$root/build" -G Ninja -DHEARWOOD_TESTS="$1" -DHEARWOOD_WERROR="${HEARWOOD_WERROR:-OFF}" \
        ${as_one:-} >"$root/build.log" 2>&1 || {
        cat "$root/build.log"
        rm -f "$root/build.log"
        return 1
    }
    rm -f "$root/build.log"
    cmake --build "$root/build" ${2:+--target "$2"}
}
