// `contrast --values FILE.csv`: the tests for anything that was measured at sites. `contrast
// SURVEY` is next door.
#include "contrast/contrast.h"

#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/file.h"
#include "base/text.h"
#include "command/command.h"
#include "contrast/classes.h"
#include "contrast/values_sheet.h"
#include "contrast/verdict.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

struct ContrastOptions {
    std::string survey, values, compare, primary, out;
    std::optional<std::uint64_t> seed;
    std::optional<double> level;
};

/// "A,B" as a pair; nothing for anything else.
std::optional<std::pair<std::string, std::string>> pair_of(const std::string& text) {
    const std::vector<std::string> parts = split(text, ',');
    if (parts.size() != 2) return std::nullopt;
    const std::string first = trim(parts[0]), second = trim(parts[1]);
    if (first.empty() || second.empty()) return std::nullopt;
    return std::pair{first, second};
}

std::string listed(const std::vector<std::string>& names) {
    std::vector<std::string> shown;
    for (const std::string& name : names) shown.push_back(printable(name));
    return join(shown, ", ");
}

[[noreturn]] void refuse_class(const std::string& name, const std::vector<std::string>& classes) {
    const std::optional<std::string> near = nearest(name, classes);
    throw InputError(fmt::format("--compare: no site is of class '{}'", printable(name)),
                     near ? fmt::format("did you mean '{}'?", printable(*near))
                          : "the classes of the file are " + listed(classes));
}

/// Fills class_a and class_b; without --compare two classes are taken in alphabetical order, and
/// that is said.
void choose_pair(const ContrastOptions& options, std::vector<std::string> classes,
                 ContrastPlan& plan) {
    std::sort(classes.begin(), classes.end());
    if (options.compare.empty()) {
        if (classes.size() != 2)
            throw InputError(
                fmt::format("the file has {} classes ({})", classes.size(), listed(classes)),
                "say which two to compare: --compare A,B (the difference is A minus B)");
        plan.class_a = classes[0];
        plan.class_b = classes[1];
        fmt::print("No --compare: {} minus {}, in alphabetical order.\n\n", printable(classes[0]),
                   printable(classes[1]));
        return;
    }
    const auto pair = pair_of(options.compare);
    if (!pair || pair->first == pair->second)
        throw InputError(
            fmt::format("--compare '{}' is not two classes", printable(options.compare)),
            "write --compare A,B with the two class names, the difference is A minus B");
    for (const std::string& name : {pair->first, pair->second})
        if (std::find(classes.begin(), classes.end(), name) == classes.end())
            refuse_class(name, classes);
    plan.class_a = pair->first;
    plan.class_b = pair->second;
}

void choose_primary(const ContrastOptions& options, const std::vector<SiteValue>& values,
                    ContrastPlan& plan) {
    if (options.primary.empty()) return;
    const auto pair = pair_of(options.primary);
    if (!pair)
        throw InputError(
            fmt::format("--primary '{}' is not an index and a window", printable(options.primary)),
            "write --primary INDEX,WINDOW");
    const bool known = std::any_of(values.begin(), values.end(), [&](const SiteValue& value) {
        return value.index == pair->first && value.window == pair->second;
    });
    if (!known)
        throw InputError(fmt::format("--primary: the file has no values of '{}' in '{}'",
                                     printable(pair->first), printable(pair->second)),
                         "check the spelling against the columns index and window");
    plan.primary_index = pair->first;
    plan.primary_window = pair->second;
}

/// "out.csv" and "pairs" make "out.pairs.csv".
std::filesystem::path beside(const std::filesystem::path& out, const std::string& what) {
    std::filesystem::path path = out;
    path.replace_extension("." + what + out.extension().string());
    return path;
}

void print_classes(const std::vector<ClassesRow>& rows) {
    fmt::print("All classes together (exact permutation F, adj. p: Holm over {})\n{}{}{}{}{}\n",
               rows.size(), left("index window", 34), right("sites", 6), right("F", 10),
               right("p", 10), right("adj. p", 10));
    for (const ClassesRow& row : rows)
        fmt::print("{}{}{}{}{}{}\n", left(cut(printable(row.index + " " + row.window), 33), 34),
                   right(std::to_string(row.sites), 6),
                   right(row.f == row.f ? readable_number(row.f) : "n/a", 10),
                   right(readable_p(row.p), 10), right(readable_p(row.p_adjusted), 10),
                   row.single.empty() ? "" : "  not in it: " + listed(row.single));
    fmt::print("\n");
}

/// What more than two classes add; returns where it was written.
std::string compare_all_classes(const ContrastOptions& options, const ContrastPlan& plan,
                                const std::vector<SiteValue>& values) {
    const std::vector<ContrastRow> pairs = other_pairs(values, plan);
    const std::vector<ClassesRow> together = classes_table(values, plan);
    fmt::print("Every other pair of classes (a family of its own)\n\n");
    for (const ContrastRow& row : pairs) fmt::print("{}", wrapped(printable(row.verdict), 2));
    fmt::print("\n");
    print_classes(together);
    if (options.out.empty()) return {};
    const std::filesystem::path pairs_path = beside(options.out, "pairs");
    const std::filesystem::path classes_path = beside(options.out, "classes");
    write_whole_file(pairs_path, contrasts_csv(pairs));
    write_whole_file(classes_path, classes_csv(together));
    return fmt::format(", {}, {}", printable(pairs_path.string()),
                       printable(classes_path.string()));
}

ExitCode run_values(const ContrastOptions& options) {
    const std::vector<SiteValue> values = read_site_values(options.values);
    if (values.empty())
        throw InputError(printable(options.values) + ": no values",
                         "one line for each site, index and window below the header");
    ContrastPlan plan;
    plan.seed = options.seed.value_or(plan.seed);
    plan.level = options.level.value_or(plan.level);
    const std::vector<std::string> classes = classes_in(values);
    choose_pair(options, classes, plan);
    choose_primary(options, values, plan);

    const std::vector<ContrastRow> rows = contrast_table(values, plan);
    fmt::print("{}", readable_table(rows));
    for (const ContrastRow& row : rows)
        if (row.significant() || row.role == Role::primary)
            fmt::print("{}", wrapped(printable(effect_in_words(row)), 0));
    std::string more;
    if (classes.size() > 2) more = compare_all_classes(options, plan, values);
    if (!options.out.empty()) write_whole_file(options.out, contrasts_csv(rows));
    const std::string where = options.out.empty() ? "The table as a file: --out OUT.csv"
                                                  : "Written to " + printable(options.out) + more;
    fmt::print("\n{}", wrapped(printable(overall_verdict(rows, plan)) + " " + where + "."));
    return ExitCode::ok;
}

}  // namespace

Run add_contrast(CLI::App& program) {
    auto options = std::make_shared<ContrastOptions>();
    CLI::App* command =
        program.add_subcommand("contrast", "the exact tests between two stand classes");
    command->add_option("survey", options->survey, "survey folder")->type_name("SURVEY");
    command
        ->add_option("--values", options->values,
                     "test site values of a sheet instead: site, class, index, window, value and, "
                     "if wanted, block")
        ->type_name("FILE.csv");
    command
        ->add_option("--compare", options->compare, "the two classes; the difference is A minus B")
        ->type_name("A,B");
    command
        ->add_option("--primary", options->primary,
                     "the one outcome declared before the data were seen")
        ->type_name("INDEX,WINDOW");
    command->add_option("--seed", options->seed, "of the random relabellings (default 1)")
        ->type_name("N");
    command->add_option("--level", options->level, "of the intervals (default 0.95)")
        ->type_name("SHARE");
    command
        ->add_option("--out", options->out,
                     "write the rows here, with the columns of contrasts.csv")
        ->type_name("OUT.csv");
    set_example(*command,
                "hearwood contrast --values litter.csv --compare rich,poor --out contrasts.csv");
    return [options]() -> ExitCode {
        if (options->level && !(*options->level > 0 && *options->level < 1))
            throw InputError(fmt::format("--level {} is no share", *options->level),
                             "write a number between 0 and 1, such as 0.95");
        if (!options->values.empty() && options->survey.empty()) return run_values(*options);
        throw InputError("contrast needs a survey folder or --values FILE.csv",
                         "name one of the two");
    };
}

}  // namespace hearwood
