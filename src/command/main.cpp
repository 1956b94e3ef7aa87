// The program's one entry: the list of commands, and the one place where errors become lines and
// exit codes.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <new>
#include <utility>
#include <vector>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/version.h"
#include "command/command.h"

namespace {

using namespace hearwood;

// In the order in which a survey meets them.
constexpr AddCommand kCommands[] = {
    add_demo,
    add_contrast,
};

int code(ExitCode exit_code) {
    return static_cast<int>(exit_code);
}

/// CLI11 prints help and its own complaints; only its many exit codes are folded into ours.
int parse_failure(const CLI::App& program, const CLI::ParseError& error) {
    const int result = program.exit(error, stdout, stderr);
    return result == 0 ? 0 : code(ExitCode::nothing_done);
}

int run_chosen(const std::vector<std::pair<CLI::App*, Run>>& commands) {
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
        return code(ExitCode::machine_failed);
    } catch (const std::bad_alloc&) {
        fmt::print(stderr, "memory ran out; close other programs or lower --jobs and run again\n");
        return code(ExitCode::machine_failed);
    } catch (const std::exception& error) {
        fmt::print(stderr, "{}; what was finished is kept: run the command again\n", error.what());
        return code(ExitCode::machine_failed);
    }
}

}  // namespace

int main(int argc, char** argv) {
    watch_for_interrupt();
    CLI::App program{"Hearwood: animal activity of forest stands, measured from sound recordings"};
    program.set_version_flag("--version", std::string("hearwood ") + kVersion);
    program.require_subcommand(1);
    program.footer("Start with: hearwood demo DIR && hearwood run DIR");

    std::vector<std::pair<CLI::App*, Run>> commands;
    for (const AddCommand add : kCommands) {
        Run run = add(program);
        commands.emplace_back(program.get_subcommands(nullptr).back(), std::move(run));
    }
    try {
        program.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return parse_failure(program, error);
    }
    return run_chosen(commands);
}
