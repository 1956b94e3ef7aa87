// `contrast`: what is asked for; the work is next door.
#include <fmt/core.h>

#include <memory>

#include "command/command.h"
#include "command/contrast_modes.h"

namespace hearwood {

namespace {

/// The call must name one source, and a survey declares for itself what --values takes from the
/// call.
void check_call(const ContrastOptions& options) {
    if (options.level && !(*options.level > 0 && *options.level < 1))
        throw InputError(fmt::format("--level {} is no share", *options.level),
                         "write a number between 0 and 1, such as 0.95");
    if (options.survey.empty() == options.values.empty())
        throw InputError("contrast takes a survey folder or --values FILE.csv",
                         "name one of the two");
    if (options.history && !options.values.empty())
        throw InputError("--history is a survey's", "name a survey folder instead of --values");
    const bool declares = !options.compare.empty() || !options.primary.empty() || options.seed ||
                          options.level || !options.out.empty();
    if (!options.survey.empty() && declares)
        throw InputError(
            "--compare, --primary, --seed, --level and --out go with --values only",
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
    command.add_option("--seed", options->seed, "of the random relabellings (default 1)")
        .type_name("N");
    command.add_option("--level", options->level, "of the intervals (default 0.95)")
        .type_name("SHARE");
    command
        .add_option("--out", options->out, "write the rows here, with the columns of contrasts.csv")
        .type_name("OUT.csv");
    command.add_flag("--history", options->history,
                     "only print what the survey declared, and when");
    add_shared_options(command, options->shared, true);
    command.example(
        "hearwood contrast --values litter.csv --compare rich,poor --out contrasts.csv");
    return [options]() -> ExitCode {
        check_call(*options);
        if (options->history) return print_history(*options);
        return options->values.empty() ? run_contrast_survey(*options)
                                       : run_contrast_values(*options);
    };
}

}  // namespace hearwood
