// `tabulate SURVEY`: the CSV tables and the data package.
#include <fmt/core.h>

#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "store/store.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

void print_flags(const Survey& survey, const SiteValues& values) {
    for (const FlaggedShare& share : values.flagged) {
        const double percent =
            100 * static_cast<double>(share.flagged) / static_cast<double>(share.segments);
        if (percent >= 5)
            print_entry(fmt::format("{}: {} on {:.0f} % of its segments",
                                    printable(survey.sites[share.site].name), share.reason,
                                    percent));
    }
}

ExitCode tabulate(const SharedOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    const auto folder = tables_folder(survey.folder);
    if (options.dry_run) {
        require_current_results(survey, store);
        print_wrapped(fmt::format("would write the tables of {} into {}",
                                  counted(store.count_segments(), "segment"),
                                  printable(folder.string())));
        return ExitCode::ok;
    }
    const auto turn = lock_results(survey.folder);
    const TablesWritten written =
        write_tables(survey, store, folder, options.quiet, result_tables());
    const SiteValues& values = written.values;
    print_wrapped(fmt::format("{} of {}, {} kept, in {}", counted(values.segments, "segment"),
                              counted(written.recordings, "recording"), grouped(values.kept),
                              printable(folder.string())));
    print_flags(survey, values);
    if (!part_of_run())  // the contrast is refused for them
        for (const Finding& finding : mixed_sample_rates(survey, values))
            print_wrapped(one_line(finding), 4);
    for (const Finding& question : questions_of_screens(survey, values))
        print_wrapped(one_line(question), 4);
    if (values.not_measured > 0)
        fmt::print("{} not measured yet: run 'hearwood measure' and tabulate again\n",
                   counted(values.not_measured, "recording is", "recordings are"));
    if (values.old_even > 0)
        print_wrapped(fmt::format("{} old values on even terms or none yet: run 'hearwood even'",
                                  counted(values.old_even, "segment has", "segments have")));
    if (written.unusable > 0 && !part_of_run())
        fmt::print("{} damaged or unreadable: recordings.csv says why\n",
                   counted(written.unusable, "recording is", "recordings are"));
    return written.unusable + values.not_measured > 0 ? ExitCode::some_unusable : ExitCode::ok;
}

}  // namespace

Run add_tabulate(CLI::App& program) {
    CommandOf<SharedOptions> command(program, "tabulate", "the CSV tables and the data package");
    command.add_survey();
    command.add_shared_options(true);
    command.example("hearwood tabulate ~/surveys/heath-and-alluvium");
    return command.does(tabulate);
}

}  // namespace hearwood
