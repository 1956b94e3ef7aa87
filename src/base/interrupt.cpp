#include "base/interrupt.h"

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

}  // namespace

void watch_for_interrupt() {
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
