#include "base/interrupt.h"

#include "base/error.h"
#include "platform/signals.h"

namespace hearwood {
/// What the database shares with its readers is memory that lies in a file: where a full disk has
/// no room for a page of it the system sends a signal instead of an error. Nothing can go on then;
/// what was committed is kept, as after a kill.
void watch_for_interrupt() {
    catch_signals(
        "the disk has no room for the database's working memory; what was finished is "
        "kept: free some space and run again\n",
        static_cast<int>(ExitCode::machine_failed));
}

bool interrupted() {
    return signal_seen();
}
void stop_if_interrupted() {
    if (interrupted())
        throw Interrupted(
            "interrupted; what was in the making was not written: run the command again");
}
void set_interrupted(bool value) {
    set_signal_seen(value);
}

}  // namespace hearwood
