// A library that is loaded before all others (LD_PRELOAD) and lets calls of the system fail on
// purpose, so that every failure of a disk can be staged without one. Plain environment variables
// say what:
//
//   FAULT_CALLS=pread,write  the calls that count: open openat create read write pread pwrite fsync
//                            rename unlink; `create` are opens of either kind that may make a file,
//                            rename and unlink of every kind
//
//   FAULT_PATH=/card/        only files whose path holds this text (empty: all regular files)
//
//   FAULT_AT=17              the n-th such call, from 1, meets the fault
//
//   FAULT_HOW=EIO            EIO, ENOSPC, EINTR or another errno by number; SHORT (half of the
//                            bytes); FLIP (reads: a wrong first byte); KILL (SIGKILL)
//
//   FAULT_LAST=17            the last call that meets it (default: FAULT_AT; 0: all from then on)
//
//   FAULT_BAD=4096-8192      reads that touch these bytes of such a file give EIO, always
//
//   FAULT_RATE=90000000      reads of such files together give no more bytes a second
//
//   FAULT_REPORT=FILE        at exit: one line "calls N bytes B" of what was counted
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdarg>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <thread>

namespace {

enum class How { none, error, cut, flip, kill };

struct Plan {
    const char* calls = nullptr;
    const char* path = nullptr;
    const char* report = nullptr;
    long at = 0, last = 0;
    long bad_from = -1, bad_to = -1;
    double rate = 0;
    How how = How::none;
    int error_number = EIO;
};

std::atomic<long> counted{0};
std::atomic<long long> bytes_read{0};

int error_of(const char* name) {
    if (std::strcmp(name, "EIO") == 0) return EIO;
    if (std::strcmp(name, "ENOSPC") == 0) return ENOSPC;
    if (std::strcmp(name, "EINTR") == 0) return EINTR;
    return std::atoi(name);
}

How how_of(const char* name) {
    if (std::strcmp(name, "SHORT") == 0) return How::cut;
    if (std::strcmp(name, "FLIP") == 0) return How::flip;
    if (std::strcmp(name, "KILL") == 0) return How::kill;
    return How::error;
}

Plan read_plan() {
    Plan plan;
    plan.calls = std::getenv("FAULT_CALLS");
    plan.path = std::getenv("FAULT_PATH");
    plan.report = std::getenv("FAULT_REPORT");
    if (const char* at = std::getenv("FAULT_AT")) plan.at = plan.last = std::atol(at);
    if (const char* last = std::getenv("FAULT_LAST")) plan.last = std::atol(last);
    if (const char* bad = std::getenv("FAULT_BAD"))
        std::sscanf(bad, "%ld-%ld", &plan.bad_from, &plan.bad_to);
    if (const char* rate = std::getenv("FAULT_RATE")) plan.rate = std::atof(rate);
    if (const char* how = std::getenv("FAULT_HOW")) {
        plan.how = how_of(how);
        plan.error_number = error_of(how);
    }
    return plan;
}

const Plan& plan() {
    static const Plan the_plan = read_plan();
    return the_plan;
}

template <class Function>
Function next(const char* name) {
    return reinterpret_cast<Function>(::dlsym(RTLD_NEXT, name));
}

bool call_counts(const char* call) {
    const char* calls = plan().calls;
    if (!calls) return false;
    const std::size_t length = std::strlen(call);
    for (const char* at = std::strstr(calls, call); at; at = std::strstr(at + 1, call)) {
        const bool begins = at == calls || at[-1] == ',';
        const bool ends = at[length] == '\0' || at[length] == ',';
        if (begins && ends) return true;
    }
    return false;
}

bool path_counts(const char* path) {
    return path && (!plan().path || std::strstr(path, plan().path));
}

bool descriptor_counts(int descriptor) {
    struct stat status {};
    if (::fstat(descriptor, &status) != 0 || !(S_ISREG(status.st_mode) || S_ISDIR(status.st_mode)))
        return false;
    if (!plan().path) return true;
    char link[64], path[4096];
    std::snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const ssize_t length = ::readlink(link, path, sizeof path - 1);
    if (length <= 0) return false;
    path[length] = '\0';
    return path_counts(path);
}

/// Counts the call; true when it is to fail (or be cut).
bool met() {
    const long number = ++counted;
    const Plan& p = plan();
    if (p.how == How::none || p.at == 0 || number < p.at || (p.last != 0 && number > p.last))
        return false;
    if (p.how == How::kill) {
        ::kill(::getpid(), SIGKILL);
        ::pause();
    }
    return true;
}

bool is_bad(int descriptor, long from, long count) {
    const Plan& p = plan();
    return p.bad_from >= 0 && from < p.bad_to && from + count > p.bad_from &&
           descriptor_counts(descriptor);
}

/// Sleeps until as much time has passed since the first read as a slow card would have needed.
void keep_to_rate() {
    if (plan().rate <= 0) return;
    using Clock = std::chrono::steady_clock;
    static const Clock::time_point begin = Clock::now();
    const std::chrono::duration<double> needed(static_cast<double>(bytes_read.load()) /
                                               plan().rate);
    std::this_thread::sleep_until(begin + std::chrono::duration_cast<Clock::duration>(needed));
}

/// What a call on a descriptor does: really(count) is the true call.
template <class Really>
ssize_t moved(const char* call, int descriptor, void* read_to, std::size_t count, Really really) {
    const bool meets = call_counts(call) && descriptor_counts(descriptor) && met();
    if (meets && plan().how == How::error) {
        errno = plan().error_number;
        return -1;
    }
    if (meets && plan().how == How::cut && count > 1) count /= 2;
    const ssize_t done = really(count);
    const bool watched = plan().report || plan().rate > 0;
    if (read_to && done > 0 && watched && descriptor_counts(descriptor)) {
        bytes_read += done;
        keep_to_rate();
    }
    if (meets && plan().how == How::flip && read_to && done > 0)
        *static_cast<unsigned char*>(read_to) ^= 1;
    return done;
}

ssize_t pread_either(const char* symbol, int descriptor, void* to, std::size_t count,
                     off_t offset) {
    static auto real = next<ssize_t (*)(int, void*, std::size_t, off_t)>(symbol);
    if (is_bad(descriptor, offset, static_cast<long>(count))) {
        // A kernel gives what lies before the bad place first.
        if (offset < plan().bad_from)
            return real(descriptor, to, static_cast<std::size_t>(plan().bad_from - offset), offset);
        errno = EIO;
        return -1;
    }
    return moved("pread", descriptor, to, count,
                 [&](std::size_t n) { return real(descriptor, to, n, offset); });
}

ssize_t pwrite_either(const char* symbol, int descriptor, const void* from, std::size_t count,
                      off_t offset) {
    static auto real = next<ssize_t (*)(int, const void*, std::size_t, off_t)>(symbol);
    return moved("pwrite", descriptor, nullptr, count,
                 [&](std::size_t n) { return real(descriptor, from, n, offset); });
}

int fails(const char* call) {
    (void)call;
    errno = plan().error_number;
    return -1;
}

int sync_either(const char* symbol, int descriptor) {
    static auto real_fsync = next<int (*)(int)>("fsync");
    static auto real_fdatasync = next<int (*)(int)>("fdatasync");
    if (call_counts("fsync") && descriptor_counts(descriptor) && met() && plan().how == How::error)
        return fails(symbol);
    return std::strcmp(symbol, "fsync") == 0 ? real_fsync(descriptor) : real_fdatasync(descriptor);
}

bool open_fails(const char* call, const char* path, int flags) {
    const bool counts = call_counts(call) || ((flags & O_CREAT) != 0 && call_counts("create"));
    return counts && path_counts(path) && met() && plan().how == How::error;
}

/// The path of what a call names below a folder's descriptor.
bool path_below_counts(int folder, const char* path) {
    return path_counts(path) ||
           (folder != AT_FDCWD && path && path[0] != '/' && descriptor_counts(folder));
}

bool openat_fails(int folder, const char* path, int flags) {
    const bool counts = call_counts("openat") || ((flags & O_CREAT) != 0 && call_counts("create"));
    return counts && path_below_counts(folder, path) && met() && plan().how == How::error;
}

bool rename_fails(int folder, const char* to) {
    return call_counts("rename") && path_below_counts(folder, to) && met() &&
           plan().how == How::error;
}

struct Reporter {
    ~Reporter() {
        if (!plan().report) return;
        static auto real_open = next<int (*)(const char*, int, ...)>("open");
        static auto real_write = next<ssize_t (*)(int, const void*, std::size_t)>("write");
        const int descriptor = real_open(plan().report, O_WRONLY | O_CREAT | O_TRUNC, 0644);
        char line[96];
        const int length = std::snprintf(line, sizeof line, "calls %ld bytes %lld\n",
                                         counted.load(), bytes_read.load());
        real_write(descriptor, line, static_cast<std::size_t>(length));
        ::close(descriptor);
    }
} reporter;

}  // namespace

extern "C" {

int open(const char* path, int flags, ...) {
    static auto real = next<int (*)(const char*, int, ...)>("open");
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    return open_fails("open", path, flags) ? fails("open") : real(path, flags, mode);
}

int openat(int folder, const char* path, int flags, ...) {
    static auto real = next<int (*)(int, const char*, int, ...)>("openat");
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    return openat_fails(folder, path, flags) ? fails("openat") : real(folder, path, flags, mode);
}

int open64(const char* path, int flags, ...) {
    static auto real = next<int (*)(const char*, int, ...)>("open64");
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    return open_fails("open", path, flags) ? fails("open") : real(path, flags, mode);
}

ssize_t read(int descriptor, void* to, std::size_t count) {
    static auto real = next<ssize_t (*)(int, void*, std::size_t)>("read");
    return moved("read", descriptor, to, count,
                 [&](std::size_t n) { return real(descriptor, to, n); });
}

ssize_t write(int descriptor, const void* from, std::size_t count) {
    static auto real = next<ssize_t (*)(int, const void*, std::size_t)>("write");
    return moved("write", descriptor, nullptr, count,
                 [&](std::size_t n) { return real(descriptor, from, n); });
}

ssize_t pread(int descriptor, void* to, std::size_t count, off_t offset) {
    return pread_either("pread", descriptor, to, count, offset);
}
ssize_t pread64(int descriptor, void* to, std::size_t count, off_t offset) {
    return pread_either("pread64", descriptor, to, count, offset);
}
ssize_t pwrite(int descriptor, const void* from, std::size_t count, off_t offset) {
    return pwrite_either("pwrite", descriptor, from, count, offset);
}
ssize_t pwrite64(int descriptor, const void* from, std::size_t count, off_t offset) {
    return pwrite_either("pwrite64", descriptor, from, count, offset);
}

int fsync(int descriptor) {
    return sync_either("fsync", descriptor);
}
int syncfs(int descriptor) {
    static auto real = next<int (*)(int)>("syncfs");
    if (call_counts("fsync") && descriptor_counts(descriptor) && met() && plan().how == How::error)
        return fails("syncfs");
    return real(descriptor);
}
int fdatasync(int descriptor) {
    return sync_either("fdatasync", descriptor);
}

int rename(const char* from, const char* to) {
    static auto real = next<int (*)(const char*, const char*)>("rename");
    return rename_fails(AT_FDCWD, to) ? fails("rename") : real(from, to);
}

int renameat(int old_folder, const char* from, int folder, const char* to) {
    static auto real = next<int (*)(int, const char*, int, const char*)>("renameat");
    return rename_fails(folder, to) ? fails("renameat") : real(old_folder, from, folder, to);
}

int renameat2(int old_folder, const char* from, int folder, const char* to, unsigned flags) {
    static auto real = next<int (*)(int, const char*, int, const char*, unsigned)>("renameat2");
    return rename_fails(folder, to) ? fails("renameat2")
                                    : real(old_folder, from, folder, to, flags);
}

int unlinkat(int folder, const char* path, int flags) {
    static auto real = next<int (*)(int, const char*, int)>("unlinkat");
    if (call_counts("unlink") && path_below_counts(folder, path) && met() &&
        plan().how == How::error)
        return fails("unlinkat");
    return real(folder, path, flags);
}

int unlink(const char* path) {
    static auto real = next<int (*)(const char*)>("unlink");
    if (call_counts("unlink") && path_counts(path) && met() && plan().how == How::error)
        return fails("unlink");
    return real(path);
}
}
