#include "platform/signals.h"

#include <unistd.h>

#include <csignal>
#include <cstddef>
#include <cstring>

namespace hearwood {
namespace {

volatile std::sig_atomic_t seen = 0;
// Set before the handler is there, and never again.
const char* no_room_line = "";
std::size_t no_room_length = 0;
int no_room_exit = 1;

extern "C" void remember_signal(int number) {
    if (seen != 0) {
        static_cast<void>(std::signal(number, SIG_DFL));
        static_cast<void>(std::raise(number));
    }
    seen = 1;
}

extern "C" void end_at_full_disk(int) {
    [[maybe_unused]] const ssize_t told = ::write(STDERR_FILENO, no_room_line, no_room_length);
    ::_exit(no_room_exit);
}

}  // namespace

void catch_signals(const char* no_room, int exit_code) {
    no_room_line = no_room;
    no_room_length = std::strlen(no_room);
    no_room_exit = exit_code;
    struct sigaction full {};
    full.sa_handler = end_at_full_disk;
    sigemptyset(&full.sa_mask);
    ::sigaction(SIGBUS, &full, nullptr);
    static_cast<void>(std::signal(SIGXFSZ, SIG_IGN));
    struct sigaction action {};
    action.sa_handler = remember_signal;
    sigemptyset(&action.sa_mask);
    action.sa_flags = SA_RESTART;  // reads and writes under way are finished, not torn
    ::sigaction(SIGINT, &action, nullptr);
    ::sigaction(SIGTERM, &action, nullptr);
    static_cast<void>(std::signal(SIGPIPE, SIG_IGN));
}

bool signal_seen() {
    return seen != 0;
}

void set_signal_seen(bool value) {
    seen = value ? 1 : 0;
}

}  // namespace hearwood
