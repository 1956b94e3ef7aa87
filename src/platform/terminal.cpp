#include "platform/terminal.h"

#include <fcntl.h>
#include <sys/types.h>
#include <unistd.h>

#include <cerrno>
#include <cstddef>
#include <cstdio>
#include <initializer_list>

namespace hearwood {
namespace {

/// As fopencookie(3) and funopen(3) want it, but for the count at a failure: that is 0 and -1.
ssize_t write_unless_closed(const char* bytes, std::size_t count, ssize_t failure) {
    const ssize_t written = ::write(STDOUT_FILENO, bytes, count);
    if (written < 0 && errno == EPIPE) return static_cast<ssize_t>(count);
    return written < 0 ? failure : written;
}

std::FILE* stream_to_stdout() {
#ifdef __APPLE__  // not tried
    const auto write = [](void*, const char* bytes, int count) {
        return static_cast<int>(write_unless_closed(bytes, static_cast<std::size_t>(count), -1));
    };
    return ::funopen(nullptr, nullptr, write, nullptr, nullptr);
#else
    const auto write = [](void*, const char* bytes, std::size_t count) {
        return write_unless_closed(bytes, count, 0);
    };
    return ::fopencookie(nullptr, "w", {nullptr, write, nullptr, nullptr});
#endif
}

}  // namespace

bool is_terminal(int stream) {
    return ::isatty(stream) != 0;
}

void hold_standard_streams() {
    for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
        if (::fcntl(stream, F_GETFD) < 0) static_cast<void>(::open("/dev/null", O_RDONLY));
}

void pass_over_closed_pipes() {
    std::FILE* const stream = stream_to_stdout();
    if (!stream) return;
    static_cast<void>(
        std::setvbuf(stream, nullptr, is_terminal(STDOUT_FILENO) ? _IOLBF : _IOFBF, BUFSIZ));
    stdout = stream;
}

}  // namespace hearwood
