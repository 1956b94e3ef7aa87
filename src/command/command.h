// What commands share, and how one joins the program: it adds its options to the program, filling a
// struct of its own, and gives back what is to be done once all options are parsed and checked.
// Nothing is opened before that.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "base/error.h"
#include "base/wall_time.h"
#include "options/options.h"
#include "survey/survey.h"

namespace hearwood {

struct ForgetRequest;

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

/// What most commands are told: the survey's folder, and what every one that works for long shares,
/// --jobs N, --quiet, --dry-run.
struct SharedOptions {
    std::string survey;
    int jobs = 0;  ///< 0: one a core
    bool quiet = false;
    bool dry_run = false;
};
/// The survey's folder, without which the command is refused.
void add_survey(Command& command, std::string& folder);
void add_shared_options(Command& command, SharedOptions& options, bool writes);

/// --part I/N of a survey that is done in parts, or --part alone.
struct PartOption {
    std::string text;
    std::optional<CommandOption> option;
    bool given() const { return option && option->given(); }
};
void add_part(Command& command, PartOption& part, const std::string& meaning);

/// A command together with the struct that its options fill.
template <class Options>
class CommandOf : public Command {
  public:
    using Command::Command;
    Options& operator*() { return *options_; }
    Options* operator->() { return options_.get(); }
    void add_survey() { hearwood::add_survey(*this, options_->survey); }
    void add_shared_options(bool writes) { hearwood::add_shared_options(*this, *options_, writes); }
    /// What is to be done with them.
    Run does(ExitCode (*work)(const Options&)) const {
        return [options = options_, work] { return work(*options); };
    }

  private:
    std::shared_ptr<Options> options_ = std::make_shared<Options>();
};

/// jobs, with 0 replaced by the number of cores.
int job_count(const SharedOptions& options);

/// Loads the survey that a command works on without what wrong rows of its sheets stand for
/// (load_usable_survey), and says on stderr what is left out, a line each; stages of a run leave
/// that to `check` and the answer.
Survey open_survey(const std::string& folder);
/// Whether any survey of this process was opened without something: main() then ends with
/// ExitCode::some_unusable where all else went well.
bool something_was_left_out();

/// True once `run` calls its stages, each of which leaves out what another one tells.
bool part_of_run();
void begin_run();

/// On stdout, 80 columns wide: a paragraph, further lines indented (base/lines.h); a heading with
/// an empty line above it, and an entry below one.
void print_wrapped(std::string_view text, int indent = 0);
void print_heading(std::string_view title);
void print_entry(std::string_view text, int indent = 2);

/// Index in the survey of the site that --site names. Errors: InputError, with the nearest name.
std::size_t site_given(const Survey& survey, const std::string& name);

/// The date that the option has; nothing where it is not given. Errors: InputError that names it.
std::optional<Date> date_given(const std::string& text, const char* option);

/// Silences a stretch of a recording, and tells what may still hold it.
ExitCode forget(const std::filesystem::path& folder, const ForgetRequest& request, bool dry_run);

/// InputError where `out` is the file that is read, by whatever path: writing would destroy it.
void refuse_own_input(const std::filesystem::path& out, const std::filesystem::path& input);

}  // namespace hearwood
