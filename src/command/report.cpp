// `report SURVEY`: the page.
#include "report/report.h"

#include <fmt/core.h>

#include "aggregate/declarations.h"
#include "aggregate/judged_segments.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "store/store.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

struct PageOptions : SharedOptions {
    bool no_pictures = false, no_clips = false;
};

ExitCode report(const PageOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    if (options.dry_run) {
        require_current_results(survey, store);
        print_wrapped(fmt::format("would write the page of {} into {}",
                                  counted(store.count_segments(), "segment"),
                                  printable((survey.folder / "hearwood" / "report").string())));
        return ExitCode::ok;
    }
    note_declaration_if_free(survey, store, current_time());
    const auto turn = lock_results(survey.folder);
    ReportOptions report_options;
    report_options.jobs = job_count(options);
    report_options.quiet = options.quiet;
    report_options.pictures = !options.no_pictures;
    report_options.clips = !options.no_clips;
    const ReportSummary summary = write_report(survey, store, report_options);
    if (summary.page.empty()) {
        log_line("interrupted; the page was not written: run the command again");
        return ExitCode::interrupted;
    }
    const std::string size =
        summary.clips == 0
            ? ""
            : fmt::format(" ({:.1f} MB)", static_cast<double>(summary.clips_bytes) / 1e6);
    fmt::print("{} and {}{} beside the page\n", counted(summary.pictures, "day picture"),
               counted(summary.clips, "clip"), size);
    if (summary.clips > 0)
        fmt::print("people may be heard in the clips: listen before you pass the folder on\n");
    if (summary.clips_missing > 0)
        fmt::print("{} could not be cut: recordings that they come from cannot be read here\n",
                   counted(summary.clips_missing, "clip"));
    for (const std::string& sentence : summary.old) print_wrapped(sentence);
    fmt::print(
        "summary.html beside the page says it in plain words, to print for the people there\n");
    fmt::print("open {} ({} kB) in a browser\n", printable(summary.page.string()),
               grouped((summary.page_bytes + 500) / 1000));
    return ExitCode::ok;
}

}  // namespace

Run add_report(CLI::App& program) {
    CommandOf<PageOptions> command(
        program, "report", "the page: one HTML file with charts, day pictures and clips beside it");
    command.add_survey();
    command.add_flag("--no-pictures", command->no_pictures, "leave out the day pictures");
    command.add_flag("--no-clips", command->no_clips, "leave out the 15 s sound clips");
    command.add_shared_options(true);
    command.example("hearwood report ~/surveys/heath-and-alluvium");
    return command.does(report);
}

}  // namespace hearwood
