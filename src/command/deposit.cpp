// `deposit SURVEY OUT`: a folder fit for an archive; `deposit --check OUT` reads one back.
#include "export/deposit.h"

#include <fmt/core.h>

#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "export/deposit_files.h"
#include "store/store.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

constexpr std::size_t kShown = 20;

struct DepositArguments : SharedOptions {
    std::string out;
    bool check = false;
    DepositOptions deposit;
};

ExitCode check(const std::string& folder) {
    const DepositCheck checked = check_deposit(folder);
    for (std::size_t i = 0; i < std::min(kShown, checked.problems.size()); ++i)
        print_entry(checked.problems[i]);
    if (checked.problems.size() > kShown)
        print_entry(fmt::format("and {} more", grouped(checked.problems.size() - kShown)));
    print_wrapped(fmt::format("{} and {} with {} read back: {}.", counted(checked.files, "file"),
                              counted(checked.tables, "table"), counted(checked.rows, "row"),
                              checked.problems.empty()
                                  ? "all is as it was written"
                                  : counted(checked.problems.size(), "problem")));
    return checked.problems.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode deposit(const DepositArguments& options) {
    if (options.check) {
        if (!options.out.empty())
            throw InputError("--check takes one deposit", "hearwood deposit --check OUT");
        return check(options.survey);
    }
    if (options.out.empty()) throw InputError("OUT is required", "hearwood deposit SURVEY OUT");
    const Survey survey = load_survey(options.survey);
    log_line(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    DepositOptions how = options.deposit;
    how.out = options.out;
    how.jobs = job_count(options);
    how.quiet = options.quiet;
    const auto turn = lock_results(survey.folder);
    const DepositSummary summary = write_deposit(survey, store, how, result_tables());
    if (summary.interrupted) {
        log_line(fmt::format(
            "interrupted; the deposit is not whole: remove {} and run the command again",
            printable(options.out) + (is_zip_name(options.out) ? ".unpacked" : "")));
        return ExitCode::interrupted;
    }
    print_wrapped(fmt::format(
        "{}: {}, {:.1f} MB{}{}", printable(options.out), counted(summary.files, "file"),
        static_cast<double>(summary.bytes) / 1e6,
        summary.coarse_sites > 0
            ? fmt::format("; coordinates of {} made coarse", counted(summary.coarse_sites, "site"))
            : "",
        how.recordings
            ? fmt::format("; {}, {} left behind", counted(summary.recordings, "recording"),
                          grouped(summary.left_behind.size()))
            : ""));
    print_wrapped(
        "Read README.md in it before you pass it on, and write the authors' names into "
        "CITATION.cff and eml.xml.");
    return ExitCode::ok;
}

}  // namespace

Run add_deposit(CLI::App& program) {
    CommandOf<DepositArguments> command(
        program, "deposit",
        "a folder or .zip fit for an archive: tables, sheets, methods, page, events");
    command.add_option("SURVEY", command->survey, "folder with survey.toml").required();
    command.add_option("OUT", command->out,
                       "folder to write, not there yet or empty; or a name that ends in .zip");
    command
        .add_option("--coarsen DEGREES", command->deposit.coarsen,
                    "round the coordinates of every site (default: to 0.1 degrees those of sites "
                    "that sites.csv calls sensitive)")
        .between(0.001, 10.0);
    command.add_flag("--recordings", command->deposit.recordings,
                     "copy the recordings too, none with voices and none that a decision leaves "
                     "out");
    command.add_flag("--check", command->check,
                     "read a deposit back: hearwood deposit --check OUT");
    command.add_shared_options(false);
    command.example(
        "hearwood deposit ~/surveys/heath-and-alluvium ~/deposit-2031\n"
        "  hearwood deposit --check ~/deposit-2031\n"
        "  hearwood deposit ~/surveys/heath-and-alluvium ~/deposit-2031.zip");
    return command.does(deposit);
}

}  // namespace hearwood
