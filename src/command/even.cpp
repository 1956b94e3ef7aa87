// `even SURVEY`: every site heard through the same noise, and measured again.
#include "activity/even.h"

#include <fmt/core.h>

#include "activity/even_text.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "measure/parts.h"
#include "measure/settings_grid.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct EvenArguments : SharedOptions {
    PartOption part;
};

/// Errors: InputError where nothing can be compared. Ctrl-C is told.
EvenSummary bring_up_to_date(const Survey& survey, const Store& measured, Store& out,
                             const EvenArguments& options, Part part = {}) {
    EvenSummary summary = bring_even_up_to_date(
        survey, measured, out,
        {job_count(options), options.quiet, options.dry_run, part.number, part.count});
    if (!summary.terms.impossible.empty())
        throw InputError("nothing can be compared on even terms: " + summary.terms.impossible,
                         "see docs/even.md; even = false under [activity] leaves this stage out");
    if (summary.interrupted)  // in a part as in the survey's own store
        log_line(fmt::format("interrupted; {} are kept: run the command again",
                             counted(summary.measured, "segment")));
    return summary;
}

ExitCode conclude(const EvenSummary& summary) {
    if (summary.unread == 0) return ExitCode::ok;
    print_wrapped(fmt::format(
        "{} could not be read again as when measured, the first in {}, and {} no even values. Put "
        "the recording back as it was, or let 'hearwood measure' take note of it.",
        counted(summary.unread, "segment"), printable(summary.unread_path),
        summary.unread == 1 ? "has" : "have"));
    return ExitCode::some_unusable;
}

/// One of N parts, into a store of its own; 'gather' joins them.
ExitCode even_part(const EvenArguments& options, const Survey& survey) {
    const Part part = parse_part(options.part.text);
    const Store measured = Store::open_snapshot(survey.folder);
    const bool dry = options.dry_run;
    Store out = dry ? Store::empty() : Store::open_part(part_file(survey.folder, part, kEvenPart));
    if (!dry) keep_grid_settings(out, *measured.settings());
    const EvenSummary summary = bring_up_to_date(survey, measured, out, options, part);
    if (summary.interrupted) return ExitCode::interrupted;
    if (!dry) mark_part_finished(out);
    print_wrapped(fmt::format("part {} of {}: {} on even terms, {} {}", part.number + 1, part.count,
                              counted(summary.segments, "segment"),
                              grouped(dry ? summary.to_do : summary.measured),
                              dry ? "would be measured" : "measured now"));
    return conclude(summary);
}

ExitCode even(const EvenArguments& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    if (!survey.activity.even) {
        print_wrapped("survey.toml says even = false under [activity]: nothing to do.");
        return ExitCode::ok;
    }
    if (!Store::exists(survey.folder)) static_cast<void>(Store::open_read_only(survey.folder));
    if (options.part.given()) return even_part(options, survey);
    EvenSummary summary;
    {
        Store store =
            options.dry_run ? Store::open_read_only(survey.folder) : Store::open(survey.folder);
        summary = bring_up_to_date(survey, store, store, options);
    }
    if (options.dry_run) {
        print_wrapped(fmt::format("would measure {} of {} on even terms", grouped(summary.to_do),
                                  counted(summary.segments, "segment")));
        return ExitCode::ok;
    }
    if (summary.interrupted) return ExitCode::interrupted;
    print_wrapped(fmt::format("{} on even terms, {} measured now",
                              counted(summary.segments - summary.unread, "segment"),
                              grouped(summary.measured)));
    fmt::print("{}", terms_text(survey, summary.terms));
    const Store store = Store::open_read_only(survey.folder);
    const auto turn = lock_results(survey.folder);
    const auto folder = tables_folder(survey.folder);
    make_folder(folder);
    write_table(even_table(), even_lines(survey, summary.terms), folder / "even.csv");
    const TablesWritten written =
        write_tables(survey, store, folder, options.quiet, result_tables());
    fmt::print("{}", drowned_text(survey, summary.terms, written.values));
    return conclude(summary);
}

}  // namespace

Run add_even(CLI::App& program) {
    CommandOf<EvenArguments> command(program, "even",
                                     "hear every site through the same noise, and measure again");
    command.add_survey();
    add_part(command, command->part, "one of N parts of the segments,");
    command.add_shared_options(true);
    command.example("hearwood even ~/surveys/heath-and-alluvium --jobs 2");
    return command.does(even);
}

}  // namespace hearwood
