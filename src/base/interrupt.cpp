#include "base/interrupt.h"

#include <unistd.h>

#include <csignal>

#include "base/error.h"

namespace hearwood {
namespace {

volatile std::sig_atomic_t signal_seen = 0;

extern "C" void remember_signal(int number) {
    if (signal_seen != 0) {
        static_cast<void>(std::signal(number, SIG_DFL));
        static_cast<void>(std::raise(number));
    }
    signal_seen = 1;
}

/// What the database shares with its readers is memory that lies in a file: where a full disk has no
/// room for a page of it the system sends a signal instead of an error. Nothing can go on then; what
/// was committed is kept, as after a kill.
extern "C" void end_at_full_disk(int) {
    constexpr char text[] =
        "the disk has no room for the database's working memory; what was finished is "
        "kept: free some space and run again\n";
    [[maybe_unused]] const ssize_t told = write(STDERR_FILENO, text, sizeof text - 1);
    _exit(static_cast<int>(ExitCode::machine_failed));
}

}  // namespace

void watch_for_interrupt() {
    struct sigaction full {};
    full.sa_handler = end_at_full_disk;
    sigemptyset(&full.sa_mask);
    sigaction(SIGBUS, &full, nullptr);
    // A file at its limit of size is a failed write with a message.
    static_cast<void>(std::signal(SIGXFSZ, SIG_IGN));
    struct sigaction action {};
    action.sa_handler = remember_signal;
    sigemptyset(&action.sa_mask);
    action.sa_flags = SA_RESTART;  // reads and writes under way are finished, not torn
    sigaction(SIGINT, &action, nullptr);
    sigaction(SIGTERM, &action, nullptr);
    // A closed pager is a failed write with a message, not a sudden death.
    static_cast<void>(std::signal(SIGPIPE, SIG_IGN));
}

bool interrupted() {
    return signal_seen != 0;
}
void stop_if_interrupted() {
    if (interrupted())
        throw Interrupted(
            "interrupted; what was in the making was not written: run the command again");
}
void set_interrupted(bool value) {
    signal_seen = value ? 1 : 0;
}

}  // namespace hearwood
