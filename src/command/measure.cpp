#include "measure/measure.h"

#include <fmt/core.h>

#include <memory>

#include "aggregate/declarations.h"
#include "base/text.h"
#include "card/restore.h"
#include "command/command.h"
#include "command/measure_words.h"
#include "command/open_survey.h"
#include "measure/parts.h"

namespace hearwood {
namespace {

struct MeasureArguments {
    std::string survey;
    SharedOptions shared;
    std::string part;
    bool in_part = false, hash = false;
};

/// A dry run must not make a database.
Store store_of(const MeasureArguments& options) {
    if (!options.shared.dry_run) return Store::open(options.survey);
    return Store::exists(options.survey) ? Store::open_read_only(options.survey) : Store::empty();
}

Store part_store_of(const MeasureArguments& options, Part part) {
    const auto file = part_file(options.survey, part);
    if (!options.shared.dry_run) return Store::open_part(file);
    return std::filesystem::exists(file) ? Store::open_part_read_only(file) : Store::empty();
}

ExitCode measure_part(const MeasureArguments& options, const Survey& survey, MeasureOptions how) {
    const Part part = parse_part(options.part);
    how.part = part.number;
    how.parts = part.count;
    std::optional<Store> elsewhere;
    if (Store::exists(options.survey)) elsewhere = Store::open_snapshot(options.survey);
    how.elsewhere = elsewhere ? &*elsewhere : nullptr;
    Store store = part_store_of(options, part);
    const MeasureSummary summary = measure_survey(survey, store, how);
    if (!how.dry_run && !summary.interrupted) mark_part_finished(store);
    fmt::print("part {} of {}\n", part.number + 1, part.count);
    print_measured(summary, how, options.survey);
    return exit_code_of(summary);
}

ExitCode run_measure(const MeasureArguments& options) {
    const Survey survey = open_survey(options.survey);
    MeasureOptions how;
    how.jobs = job_count(options.shared);
    how.quiet = options.shared.quiet;
    how.dry_run = options.shared.dry_run;
    how.hash = options.hash;
    if (options.in_part) return measure_part(options, survey, how);
    Store store = store_of(options);
    if (!how.dry_run) note_declaration(survey, store, current_time());
    if (!how.dry_run)
        if (const std::size_t count = restore_proofs(survey, store, how.quiet); count > 0)
            fmt::print("{} of copies taken up from SHA256SUMS and PROVED.txt\n",
                       counted(count, "proof"));
    const MeasureSummary summary = measure_survey(survey, store, how);
    print_measured(summary, how, options.survey);
    return exit_code_of(summary);
}

}  // namespace

Run add_measure(CLI::App& program) {
    auto options = std::make_shared<MeasureArguments>();
    Command command(program, "measure",
                    "measure the indices of every segment that is new or changed");
    add_survey(command, options->survey);
    CommandOption part =
        command
            .add_option(
                "--part", options->part,
                "measure one of N parts of the survey into hearwood/parts/ (without I/N: this "
                "task of a Slurm array); 'gather' joins them")
            .may_stand_alone()
            .type_name("I/N");
    command.add_flag("--hash", options->hash,
                     "also compute the SHA-256 of recordings that have none");
    add_shared_options(command, options->shared, true);
    command.example("hearwood measure ~/surveys/heath-and-alluvium --jobs 2");
    return [options, part] {
        options->in_part = part.given();
        return run_measure(*options);
    };
}

}  // namespace hearwood
