// `contrast`: every test of a survey, or of sheets of one's own.
#include <fmt/core.h>

#include <filesystem>

#include "aggregate/declarations.h"
#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/progress.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "command/terminal_look.h"
#include "contrast/answer_text.h"
#include "contrast/contrast_sheets.h"
#include "contrast/kept_results.h"
#include "contrast/nuisance.h"
#include "contrast/survey_contrast.h"
#include "contrast/verdict.h"
#include "store/writer_lock.h"

namespace hearwood {

namespace {

struct ContrastOptions : SharedOptions {
    SheetsQuestion sheets;
    std::string out;
    bool history = false;
};

/// Any level is allowed that an interval can have; the bounds of survey.toml are for surveys.
void check_numbers(const SheetsQuestion& asked) {
    if (asked.level && !(*asked.level > 0 && *asked.level < 1))
        throw InputError(fmt::format("--level {} is no share", *asked.level),
                         "write a number between 0 and 1, such as 0.95");
    if (asked.matters && !(*asked.matters > 0))
        throw InputError("--matters must be more than 0",
                         "write the smallest difference that would matter");
    if (asked.cluster_threshold && !(*asked.cluster_threshold > 0))
        throw InputError(fmt::format("--cluster-threshold {} is no t", *asked.cluster_threshold),
                         "write a number above 0, such as 2");
}

/// The call must name one source, and a survey declares for itself what --values takes from the
/// call.
void check_call(const ContrastOptions& options) {
    const SheetsQuestion& asked = options.sheets;
    check_numbers(asked);
    const bool sheets = !asked.values.empty() || !asked.profiles.empty();
    if (options.survey.empty() != sheets)
        throw InputError("contrast takes a survey folder, or sheets of your own",
                         "name a folder, or --values FILE.csv, --profiles FILE.csv or both");
    if (asked.values.empty() && (!asked.adjust.empty() || !asked.gradient.empty()))
        throw InputError("--adjust and --gradient name columns of --values",
                         "name the sheet: --values FILE.csv");
    if (asked.adjust.size() > kMostAdjusted)
        throw InputError(fmt::format("{} columns to adjust for", asked.adjust.size()),
                         fmt::format("name at most {}: few sites bear few", kMostAdjusted));
    if (options.history && sheets)
        throw InputError("--history is a survey's", "name a survey folder instead of sheets");
    const bool declares = !asked.compare.empty() || !asked.primary.empty() || asked.seed ||
                          asked.level || asked.matters || !options.out.empty() ||
                          asked.cluster_threshold;
    if (!options.survey.empty() && declares)
        throw InputError(
            "--compare, --primary, --seed, --level, --matters, --out and --cluster-threshold go "
            "with --values or --profiles only",
            "a survey declares its contrast in survey.toml ([stands], [contrast]), and the results "
            "go to its hearwood/tables");
}

/// "out.csv" and "pairs" make "out.pairs.csv".
std::filesystem::path beside(std::filesystem::path out, const std::string& what) {
    if (!what.empty()) out.replace_extension("." + what + out.extension().string());
    return out;
}

ExitCode of_sheets(const ContrastOptions& options) {
    for (const std::string& input : {options.sheets.values, options.sheets.profiles})
        if (!options.out.empty() && !input.empty()) refuse_own_input(options.out, input);
    const SheetsAnswer answer = contrast_sheets(options.sheets);
    fmt::print("{}", answer.text);
    std::vector<std::string> written;
    if (!options.out.empty() && !options.dry_run)
        for (const SheetsAnswer::File& file : answer.files) {
            const std::filesystem::path path = beside(options.out, file.what);
            write_whole_file(path, file.bytes);
            written.push_back(printable(path.string()));
        }
    print_wrapped(printable(answer.verdict) +
                  (written.empty() ? " Nothing was written; as a file: --out OUT.csv."
                                   : " Written to " + join(written, ", ") + "."));
    return ExitCode::ok;
}

ExitCode of_survey(const ContrastOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.dry_run) note_declaration_if_free(survey, store, current_time());
    const auto turn = options.dry_run ? nullptr : lock_results(survey.folder);
    const JudgedSegments segments(survey, store);
    const SiteValues values = compute_site_values(survey, store, segments);
    const KeptResults kept = read_kept_results(survey, &values, store);
    Progress progress("contrasting", "indices", contrast_steps(values), options.quiet);
    const SurveyContrast contrast =
        compute_survey_contrast(survey, store, segments, values, kept.heard(), progress);
    progress.finish();
    const auto print = [&](const std::string& text) {
        fmt::print("{}", with_class_colours(text, survey.stands));
    };
    print(answer_text(survey, contrast, kept, options.sheets.all, part_of_run()));

    std::string where = "Nothing was written (--dry-run).";
    if (!options.dry_run) {
        const std::filesystem::path folder = tables_folder(survey.folder);
        write_contrast_tables(contrast, folder);
        write_data_package(survey, store, folder, result_tables());
        where = "See " + printable((folder / "contrasts.csv").string()) + ".";
    }
    print(wrapped(printable(overall_verdict(contrast.contrasts, contrast.plan)) + " " + where));
    return ExitCode::ok;
}

ExitCode print_history(const ContrastOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.dry_run) note_declaration_if_free(survey, store, current_time());
    fmt::print("{}", declaration_history(declarations(store)));
    return ExitCode::ok;
}

ExitCode contrast(const ContrastOptions& options) {
    check_call(options);
    if (options.history) return print_history(options);
    if (options.survey.empty()) return of_sheets(options);
    try {
        return of_survey(options);
    } catch (const InputError& refusal) {
        if (!options.dry_run) take_away_old_contrast(options.survey, refusal, result_tables());
        throw;
    }
}

}  // namespace

Run add_contrast(CLI::App& program) {
    CommandOf<ContrastOptions> command(program, "contrast",
                                       "the exact tests between two stand classes");
    SheetsQuestion& sheets = command->sheets;
    command.add_option("survey SURVEY", command->survey, "survey folder");
    command.add_option("--values FILE.csv", sheets.values,
                       "test site values of a sheet instead: site, class, index, window, value "
                       "and, if wanted, block");
    command.add_option("--compare A,B", sheets.compare,
                       "the two classes; the difference is A minus B");
    command.add_option("--primary INDEX,WINDOW", sheets.primary,
                       "the one outcome declared before the data were seen");
    command.add_option("--adjust COLUMN", sheets.adjust,
                       "a numeric column of the values to adjust the contrast for; at most twice");
    command.add_option("--gradient COLUMN", sheets.gradient,
                       "a numeric column of the values: the slope along it, and given the class");
    command.add_option("--profiles FILE.csv", sheets.profiles,
                       "compare whole patterns: site, class, hour, low_hz, high_hz, value and, if "
                       "wanted, block");
    command.add_option("--cluster-threshold T", sheets.cluster_threshold,
                       "t above which neighbouring cells of --profiles form a cluster (default 2)");
    command.add_option("--seed N", sheets.seed, "of the random permutations (default 1)");
    command.add_option("--level SHARE", sheets.level, "of the intervals (default 0.95)");
    command.add_option("--matters X", sheets.matters,
                       "the smallest difference that matters, in the primary's unit");
    command.add_option("--out OUT.csv", command->out,
                       "write the rows here, with the columns of contrasts.csv");
    command.add_flag("--all", sheets.all,
                     "every secondary outcome on the terminal, not only the ten of largest size");
    command.add_flag("--history", command->history,
                     "only print what the survey declared, and when");
    command.add_shared_options(true);
    command.example(
        "hearwood contrast --values litter.csv --compare rich,poor --out contrasts.csv");
    return command.does(contrast);
}

}  // namespace hearwood
