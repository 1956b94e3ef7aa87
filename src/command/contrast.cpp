// `contrast`: what is asked for; the work is next door.
#include <fmt/core.h>

#include <memory>

#include "command/command.h"
#include "command/contrast_modes.h"
#include "contrast/nuisance.h"

namespace hearwood {

namespace {

/// The call must name one source, and a survey declares for itself what --values takes from the
/// call.
void check_call(const ContrastOptions& options) {
    if (options.level && !(*options.level > 0 && *options.level < 1))
        throw InputError(fmt::format("--level {} is no share", *options.level),
                         "write a number between 0 and 1, such as 0.95");
    if (options.matters && !(*options.matters > 0))
        throw InputError("--matters must be more than 0",
                         "write the smallest difference that would matter");
    const bool sheets = !options.values.empty() || !options.profiles.empty();
    if (options.survey.empty() != sheets)
        throw InputError("contrast takes a survey folder, or sheets of your own",
                         "name a folder, or --values FILE.csv, --profiles FILE.csv or both");
    if (options.values.empty() && (!options.adjust.empty() || !options.gradient.empty()))
        throw InputError("--adjust and --gradient name columns of --values",
                         "name the sheet: --values FILE.csv");
    if (options.adjust.size() > kMostAdjusted)
        throw InputError(fmt::format("{} columns to adjust for", options.adjust.size()),
                         fmt::format("name at most {}: few sites bear few", kMostAdjusted));
    if (options.cluster_threshold && !(*options.cluster_threshold > 0))
        throw InputError(fmt::format("--cluster-threshold {} is no t", *options.cluster_threshold),
                         "write a number above 0, such as 2");
    if (options.history && sheets)
        throw InputError("--history is a survey's", "name a survey folder instead of sheets");
    const bool declares = !options.compare.empty() || !options.primary.empty() || options.seed ||
                          options.level || options.matters || !options.out.empty() ||
                          options.cluster_threshold;
    if (!options.survey.empty() && declares)
        throw InputError(
            "--compare, --primary, --seed, --level, --matters, --out and --cluster-threshold go "
            "with "
            "--values or --profiles only",
            "a survey declares its contrast in survey.toml ([stands], [contrast]), and the results "
            "go to its hearwood/tables");
}

}  // namespace

Run add_contrast(CLI::App& program) {
    auto options = std::make_shared<ContrastOptions>();
    Command command(program, "contrast", "the exact tests between two stand classes");
    command.add_option("survey", options->survey, "survey folder").type_name("SURVEY");
    command
        .add_option("--values", options->values,
                    "test site values of a sheet instead: site, class, index, window, value and, "
                    "if wanted, block")
        .type_name("FILE.csv");
    command
        .add_option("--compare", options->compare, "the two classes; the difference is A minus B")
        .type_name("A,B");
    command
        .add_option("--primary", options->primary,
                    "the one outcome declared before the data were seen")
        .type_name("INDEX,WINDOW");
    command
        .add_option("--adjust", options->adjust,
                    "a numeric column of the values to adjust the contrast for; at most twice")
        .type_name("COLUMN");
    command
        .add_option("--gradient", options->gradient,
                    "a numeric column of the values: the slope along it, and given the class")
        .type_name("COLUMN");
    command
        .add_option("--profiles", options->profiles,
                    "compare whole patterns: site, class, hour, low_hz, high_hz, value and, if "
                    "wanted, block")
        .type_name("FILE.csv");
    command
        .add_option("--cluster-threshold", options->cluster_threshold,
                    "t above which neighbouring cells of --profiles form a cluster (default 2)")
        .type_name("T");
    command.add_option("--seed", options->seed, "of the random permutations (default 1)")
        .type_name("N");
    command.add_option("--level", options->level, "of the intervals (default 0.95)")
        .type_name("SHARE");
    command
        .add_option("--matters", options->matters,
                    "the smallest difference that matters, in the primary's unit")
        .type_name("X");
    command
        .add_option("--out", options->out, "write the rows here, with the columns of contrasts.csv")
        .type_name("OUT.csv");
    command.add_flag("--all", options->all,
                     "every secondary outcome on the terminal, not only the ten of largest size");
    command.add_flag("--history", options->history,
                     "only print what the survey declared, and when");
    add_shared_options(command, options->shared, true);
    command.example(
        "hearwood contrast --values litter.csv --compare rich,poor --out contrasts.csv");
    return [options]() -> ExitCode {
        check_call(*options);
        if (options->history) return print_history(*options);
        return options->survey.empty() ? run_contrast_values(*options)
                                       : run_contrast_survey(*options);
    };
}

}  // namespace hearwood
