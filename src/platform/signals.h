// Ctrl-C, closed pipes and full disks, as the system tells them.
#pragma once

namespace hearwood {

/// From now on Ctrl-C (SIGINT, SIGTERM) only sets a flag, and a second one ends the program at
/// once; a closed pipe and a file at its limit of size are failed writes and no sudden death. Where
/// memory that lies in a file has no room on its disk nothing can go on: the program says `no_room`
/// (a whole line, to stay where it is) and ends with `exit_code`.
void catch_signals(const char* no_room, int exit_code);

bool signal_seen();
/// For tests.
void set_signal_seen(bool value);

}  // namespace hearwood
