// `contrast --values FILE.csv`: the tests for anything that was measured at sites.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/file.h"
#include "base/text.h"
#include "command/contrast_modes.h"
#include "command/print.h"
#include "contrast/values_sheet.h"
#include "contrast/verdict.h"

namespace hearwood {

namespace {

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
    shown.reserve(names.size());
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

/// What more than two classes add; returns where it was written.
std::string compare_all_classes(const ContrastOptions& options, const ContrastPlan& plan,
                                const std::vector<SiteValue>& values) {
    const std::vector<ContrastRow> pairs = other_pairs(values, plan);
    const std::vector<ClassesRow> together = classes_table(values, plan);
    print_more_classes(pairs, together);
    if (options.out.empty() || options.shared.dry_run) return {};
    const std::filesystem::path pairs_path = beside(options.out, "pairs");
    const std::filesystem::path classes_path = beside(options.out, "classes");
    write_whole_file(pairs_path, contrasts_csv(pairs));
    write_whole_file(classes_path, classes_csv(together));
    return fmt::format(", {}, {}", printable(pairs_path.string()),
                       printable(classes_path.string()));
}

}  // namespace

ExitCode run_contrast_values(const ContrastOptions& options) {
    if (!options.out.empty()) refuse_own_input(options.out, options.values);
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
    print_contrasts(rows);
    std::string more;
    if (classes.size() > 2) more = compare_all_classes(options, plan, values);
    const bool write = !options.out.empty() && !options.shared.dry_run;
    if (write) write_whole_file(options.out, contrasts_csv(rows));
    const std::string where = write ? "Written to " + printable(options.out) + more
                                    : "Nothing was written; as a file: --out OUT.csv";
    print_wrapped(printable(overall_verdict(rows, plan)) + " " + where + ".");
    return ExitCode::ok;
}

}  // namespace hearwood
