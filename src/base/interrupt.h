// Ctrl-C: long loops ask interrupted() between segments and stop with what is done kept.
#pragma once

namespace hearwood {

/// Installs handlers for SIGINT and SIGTERM that only set a flag. A second signal ends the program
/// at once.
void watch_for_interrupt();
bool interrupted();
/// For work of which nothing is kept until all is done: throws Interrupted.
void stop_if_interrupted();
/// For tests.
void set_interrupted(bool value);

}  // namespace hearwood
