#include "measure/measure.h"

#include <fmt/core.h>

#include "aggregate/declarations.h"
#include "base/log.h"
#include "base/text.h"
#include "card/restore.h"
#include "command/command.h"
#include "measure/parts.h"

namespace hearwood {
namespace {

struct MeasureArguments : SharedOptions {
    PartOption part;
    bool hash = false;
};

ExitCode tell(const MeasureSummary& summary, const MeasureArguments& options) {
    fmt::print("{}", measured_text(summary, options.dry_run, part_of_run()));
    if (summary.interrupted && !options.dry_run)
        log_line(
            fmt::format("interrupted; what is done is kept: run 'hearwood measure {}' to go on",
                        printable(options.survey)));
    return exit_code_of(summary);
}

/// A dry run must not make a database.
Store part_store_of(const MeasureArguments& options, Part part) {
    const auto file = part_file(options.survey, part);
    if (!options.dry_run) return Store::open_part(file);
    return std::filesystem::exists(file) ? Store::open_part_read_only(file) : Store::empty();
}

ExitCode measure_part(const MeasureArguments& options, const Survey& survey, MeasureOptions how) {
    const Part part = parse_part(options.part.text);
    how.part = part.number;
    how.parts = part.count;
    std::optional<Store> elsewhere;
    if (Store::exists(options.survey)) elsewhere = Store::open_snapshot(options.survey);
    how.elsewhere = elsewhere ? &*elsewhere : nullptr;
    Store store = part_store_of(options, part);
    const MeasureSummary summary = measure_survey(survey, store, how);
    if (!how.dry_run && !summary.interrupted) mark_part_finished(store);
    fmt::print("part {} of {}\n", part.number + 1, part.count);
    return tell(summary, options);
}

ExitCode measure(const MeasureArguments& options) {
    const Survey survey = open_survey(options.survey);
    MeasureOptions how;
    how.jobs = job_count(options);
    how.quiet = options.quiet;
    how.dry_run = options.dry_run;
    how.hash = options.hash;
    if (options.part.given()) return measure_part(options, survey, how);
    Store store = how.dry_run ? Store::open_or_empty(options.survey) : Store::open(options.survey);
    if (!how.dry_run) {
        note_declaration(survey, store, current_time());
        if (const std::size_t count = restore_proofs(survey, store, how.quiet); count > 0)
            fmt::print("{} of copies taken up from SHA256SUMS and PROVED.txt\n",
                       counted(count, "proof"));
    }
    return tell(measure_survey(survey, store, how), options);
}

}  // namespace

Run add_measure(CLI::App& program) {
    CommandOf<MeasureArguments> command(
        program, "measure", "measure the indices of every segment that is new or changed");
    command.add_survey();
    add_part(command, command->part, "measure one of N parts of the survey");
    command.add_flag("--hash", command->hash,
                     "also compute the SHA-256 of recordings that have none");
    command.add_shared_options(true);
    command.example("hearwood measure ~/surveys/heath-and-alluvium --jobs 2");
    return command.does(measure);
}

}  // namespace hearwood
