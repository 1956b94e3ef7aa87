#include "platform/machine.h"

#include <sys/utsname.h>
#include <unistd.h>

#include <charconv>
#include <csignal>

namespace hearwood {
namespace {

constexpr int kMachineFailed = 3;  // ExitCode::machine_failed, which stands in a folder above

/// Ends the program: nothing that was built like the rest of it can be relied upon.
void tell_of_processor(int /*signal*/) {
    static constexpr char kWords[] =
        "this processor lacks an instruction that hearwood was built with; use the release file, "
        "or build it from source on this machine\n";
    static_cast<void>(!::write(STDERR_FILENO, kWords, sizeof kWords - 1));
    ::_exit(kMachineFailed);
}

/// Before main, and before what starts ahead of it: the first such instruction may stand there.
[[gnu::constructor(101)]] void watch_for_illegal_instruction() {
    std::signal(SIGILL, tell_of_processor);
}

}  // namespace

std::string missing_of_kernel(std::string_view release) {
    constexpr int kMajor = 3, kMinor = 2;
    const char* const end = release.data() + release.size();
    int major = 0, minor = 0;
    const auto first = std::from_chars(release.data(), end, major);
    // What is not a number of two parts is not judged.
    if (first.ec != std::errc() || first.ptr == end || *first.ptr != '.') return {};
    if (std::from_chars(first.ptr + 1, end, minor).ec != std::errc()) return {};
    if (major > kMajor || (major == kMajor && minor >= kMinor)) return {};
    return "Linux 3.2 or later is needed, and this is " + std::string(release);
}

std::string missing_of_machine() {
#if defined(__linux__)
    utsname system{};
    if (::uname(&system) == 0) return missing_of_kernel(system.release);
#endif
    return {};
}

}  // namespace hearwood
