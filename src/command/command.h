// How a command joins the program: it adds its options to the program, filling a struct of its own,
// and gives back what is to be done once all options are parsed and checked. Nothing is opened
// before that.
#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "base/error.h"
#include "options/options.h"

namespace hearwood {

struct Survey;

using Run = std::function<ExitCode()>;

/// Adds the subcommand to the program and returns its work. Errors of the work leave as InputError
/// or MachineError; main.cpp prints them and maps them to exit codes.
using AddCommand = Run (*)(CLI::App& program);

Run add_init(CLI::App& program);
Run add_demo(CLI::App& program);
Run add_plan(CLI::App& program);
Run add_check(CLI::App& program);
Run add_offload(CLI::App& program);
Run add_board(CLI::App& program);
Run add_measure(CLI::App& program);
Run add_gather(CLI::App& program);
Run add_tabulate(CLI::App& program);
Run add_even(CLI::App& program);
Run add_trial(CLI::App& program);
Run add_contrast(CLI::App& program);
Run add_robustness(CLI::App& program);
Run add_report(CLI::App& program);
Run add_picture(CLI::App& program);
Run add_spectra(CLI::App& program);
Run add_events(CLI::App& program);
Run add_listen(CLI::App& program);
Run add_forget(CLI::App& program);
Run add_verify(CLI::App& program);
Run add_deposit(CLI::App& program);
Run add_run(CLI::App& program);

/// The survey's folder, without which the command is refused.
void add_survey(Command& command, std::string& folder);

/// Options that every command which works for long shares: --jobs N, --quiet, --dry-run.
struct SharedOptions {
    int jobs = 0;  ///< 0: one a core
    bool quiet = false;
    bool dry_run = false;
};
void add_shared_options(Command& command, SharedOptions& options, bool writes);
/// jobs, with 0 replaced by the number of cores.
int job_count(const SharedOptions& options);

/// Index in the survey of the site that --site names. Errors: InputError, with the nearest name.
std::size_t site_given(const Survey& survey, const std::string& name);

/// InputError where `out` is the file that is read, by whatever path: writing would destroy it.
void refuse_own_input(const std::filesystem::path& out, const std::filesystem::path& input);

}  // namespace hearwood
