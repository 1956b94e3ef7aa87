// Preloaded into the program under test: pread() fails with an I/O error where a range of bytes of
// certain files is touched, as it does on a card with unreadable sectors; the first
// FAILING_READ_AFTER of such reads still succeed, as on a card that is failing.
#include <dlfcn.h>
#include <sys/types.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <climits>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace {

bool fails(int descriptor, size_t count, off_t offset) {
    const char* name = getenv("FAILING_READ_NAME");
    const char* from = getenv("FAILING_READ_FROM");
    const char* to = getenv("FAILING_READ_TO");
    if (!name || !from || !to) return false;
    char link[64], path[PATH_MAX];
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return false;
    path[length] = '\0';
    const char* base = strrchr(path, '/');
    const bool touched = base && strstr(base, name) && offset < atoll(to) &&
                         offset + static_cast<off_t>(count) > atoll(from);
    if (!touched) return false;
    static std::atomic<long> reads = 0;
    const char* after = getenv("FAILING_READ_AFTER");
    return reads++ >= (after ? atol(after) : 0);
}

using Pread = ssize_t (*)(int, void*, size_t, off_t);

ssize_t pread_or_fail(const char* real_name, int descriptor, void* bytes, size_t count,
                      off_t offset) {
    if (fails(descriptor, count, offset)) {
        errno = EIO;
        return -1;
    }
    const auto real = reinterpret_cast<Pread>(dlsym(RTLD_NEXT, real_name));
    return real(descriptor, bytes, count, offset);
}

}  // namespace

extern "C" ssize_t pread(int descriptor, void* bytes, size_t count, off_t offset) {
    return pread_or_fail("pread", descriptor, bytes, count, offset);
}

extern "C" ssize_t pread64(int descriptor, void* bytes, size_t count, off_t offset) {
    return pread_or_fail("pread64", descriptor, bytes, count, offset);
}
