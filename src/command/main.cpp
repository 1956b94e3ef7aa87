// The program's one entry, and the one place where errors become lines and exit codes. The list of
// commands stands in program.cpp.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <new>

#include "base/interrupt.h"
#include "base/text.h"
#include "command/program.h"
#include "command/usage_complaint.h"

namespace {

using namespace hearwood;

int code(ExitCode exit_code) {
    return static_cast<int>(exit_code);
}

/// CLI11 prints help and the version, which come as errors too; complaints are ours.
int parse_failure(const CLI::App& program, const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return program.exit(error, std::cout, std::cerr);
    fmt::print(stderr, "{}\n", usage_complaint(program, error));
    return code(ExitCode::nothing_done);
}

int run_chosen(const Commands& commands) {
    try {
        for (const auto& [command, run] : commands)
            if (command->parsed()) return code(run());
        return code(ExitCode::nothing_done);
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems())
            fmt::print(stderr, "{}\n", one_line(problem));
        return code(ExitCode::nothing_done);
    } catch (const MachineError& error) {
        fmt::print(stderr, "{}\n", error.what());
    } catch (const std::bad_alloc&) {
        fmt::print(stderr, "memory ran out; close other programs or lower --jobs and run again\n");
    } catch (const std::exception& error) {
        fmt::print(stderr, "{}; what was finished is kept: run the command again\n",
                   printable(error.what()));
    }
    return code(ExitCode::machine_failed);
}

}  // namespace

int main(int argc, char** argv) {
    watch_for_interrupt();
    CLI::App program;
    program.name("hearwood");
    const Commands commands = add_commands(program);
    try {
        program.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return parse_failure(program, error);
    }
    const int result = run_chosen(commands);
    // Results that did not reach a full disk or a closed pipe are no success.
    if (std::fflush(stdout) != 0 && result == 0) {
        fmt::print(stderr,
                   "the output could not be written; check the disk's free space and run again\n");
        return code(ExitCode::machine_failed);
    }
    return result;
}
