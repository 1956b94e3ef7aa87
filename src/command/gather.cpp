#include <fmt/core.h>

#include "aggregate/declarations.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "measure/measure.h"
#include "measure/parts.h"

namespace hearwood {
namespace {

/// Held against the disk without opening a file: what came in after the parts were dealt out is in
/// none.
ExitCode tell_what_is_left(const Survey& survey, Store& store) {
    MeasureOptions look;
    look.dry_run = true;
    const MeasureSummary left = measure_survey(survey, store, look);
    if (left.to_do == 0) return exit_code_of(left);
    print_wrapped(fmt::format(
        "{} new or changed since the parts were measured, and in none of them; run 'hearwood "
        "measure {}'",
        counted(left.to_do, "recording is", "recordings are"), printable(survey.folder.string())));
    return ExitCode::some_unusable;
}

ExitCode run_gather(const SharedOptions& options) {
    const Survey survey = open_survey(options.survey);
    const bool has_even = has_parts(survey.folder, kEvenPart);
    std::vector<std::filesystem::path> parts, even;
    if (!has_even || has_parts(survey.folder, kMeasuredPart)) parts = finished_parts(survey);
    if (has_even) even = finished_parts(survey, kEvenPart);
    if (options.dry_run) {
        print_wrapped(fmt::format("{} finished and would be joined into {}",
                                  counted(parts.size() + even.size(), "part is", "parts are"),
                                  printable(Store::path_in(options.survey).string())));
        return ExitCode::ok;
    }
    Store store = Store::open(options.survey);
    note_declaration(survey, store, current_time());
    const GatherSummary joined = gather(survey, store, parts);
    const std::int64_t on_even_terms = gather_even(store, even);
    if (interrupted()) {
        log_line(fmt::format("interrupted; run 'hearwood gather {}' to go on",
                             printable(options.survey)));
        return ExitCode::interrupted;
    }
    fmt::print("joined {}: {} new; {} in all\n", counted(joined.parts, "part"),
               counted(joined.recordings, "recording"), counted(joined.segments, "segment"));
    if (has_even)
        print_wrapped(
            fmt::format("joined {} of even terms: {}; run 'hearwood even {}' for the tables",
                        counted(even.size(), "part"), counted(on_even_terms, "segment"),
                        printable(options.survey)));
    return tell_what_is_left(survey, store);
}

}  // namespace

Run add_gather(CLI::App& program) {
    CommandOf<SharedOptions> command(
        program, "gather",
        "join the parts that 'measure --part' and 'even --part' made into survey.db");
    command.add_survey();
    command.add_shared_options(true);
    command.example("hearwood gather ~/surveys/heath-and-alluvium");
    return command.does(run_gather);
}

}  // namespace hearwood
