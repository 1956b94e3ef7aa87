// The program's one entry, and the one place where errors become lines and exit codes. The list of
// commands stands in program.cpp.
#include <fmt/core.h>

#include <cerrno>
#include <cstdio>
#include <exception>
#include <new>
#include <string>
#include <system_error>

#include "base/interrupt.h"
#include "base/log.h"
#include "base/text.h"
#include "command/program.h"
#include "platform/machine.h"
#include "platform/terminal.h"

namespace {

using namespace hearwood;

int code(ExitCode exit_code) {
    return static_cast<int>(exit_code);
}

int finished(const Run& run) {
    try {
        const ExitCode ended = run();
        return code(ended == ExitCode::ok && something_was_left_out() ? ExitCode::some_unusable
                                                                      : ended);
    } catch (const InputError& error) {
        log_line(error.problems());
        return code(ExitCode::nothing_done);
    } catch (const Interrupted& error) {
        log_line(error.what());
        return code(ExitCode::interrupted);
    } catch (const MachineError& error) {
        log_line(error.what());
    } catch (const std::bad_alloc&) {
        log_line("memory ran out; close other programs or lower --jobs and run again");
    } catch (const std::exception& error) {
        log_line(fmt::format("{}; what was finished is kept: run the command again",
                             printable(error.what())));
    }
    return code(ExitCode::machine_failed);
}

int run(int argc, char** argv) {
    hold_standard_streams();
    if (const std::string missing = missing_of_machine(); !missing.empty()) {
        log_line("hearwood cannot run on this machine: " + missing +
                 "; use a newer machine, or build the program from source on this one");
        return code(ExitCode::machine_failed);
    }
    pass_over_closed_pipes();
    watch_for_interrupt();
    Program program;
    int result = 0;
    if (const Run* chosen = program.read(argc, argv, result)) result = finished(*chosen);
    // Results that did not reach a full disk are no success.
    const bool written = std::fflush(stdout) == 0 && std::ferror(stdout) == 0;
    if (!written && result <= code(ExitCode::some_unusable)) {
        log_line(
            fmt::format("the output could not be written: {}; check where it goes and run again",
                        std::generic_category().message(errno)));
        return code(ExitCode::machine_failed);
    }
    return result;
}

}  // namespace

int main(int argc, char** argv) {
    try {
        return run(argc, argv);
    } catch (...) {  // no memory even for the option tree or a message
        static_cast<void>(
            std::fputs("memory ran out; close other programs and run again\n", stderr));
        return code(ExitCode::machine_failed);
    }
}
