// `contrast --values FILE.csv`: the tests for anything that was measured at sites.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/contrast_modes.h"
#include "command/print.h"
#include "contrast/answer_text.h"
#include "contrast/nuisance.h"
#include "contrast/patterns.h"
#include "contrast/timed_sheet.h"
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

/// What is written to a file beside --out; nothing without --out or with --dry-run.
class Outputs {
  public:
    explicit Outputs(const ContrastOptions& options)
        : out_(options.out), write_(!options.out.empty() && !options.shared.dry_run) {}

    /// out.csv itself where `what` is empty.
    void add(const std::string& what, const std::string& bytes) {
        if (!write_) return;
        const std::filesystem::path path = what.empty() ? out_ : beside(out_, what);
        write_whole_file(path, bytes);
        written_.push_back(printable(path.string()));
    }
    std::string words() const {
        return written_.empty() ? "Nothing was written; as a file: --out OUT.csv"
                                : "Written to " + join(written_, ", ");
    }

  private:
    std::filesystem::path out_;
    bool write_;
    std::vector<std::string> written_;
};

/// What more than two classes add.
void compare_all_classes(const ContrastPlan& plan, const std::vector<SiteValue>& values,
                         Outputs& outputs) {
    const std::vector<ContrastRow> pairs = other_pairs(values, plan);
    const std::vector<ClassesRow> together = classes_table(values, plan);
    fmt::print("{}", more_classes_text(pairs, together));
    outputs.add("pairs", contrasts_csv(pairs));
    outputs.add("classes", classes_csv(together));
}

/// A column that can be used; else one line on stderr that says why not and what is done without.
std::optional<SiteNumbers> usable(const std::string& sheet, const std::string& column,
                                  const std::string& without) {
    std::string problem;
    std::optional<SiteNumbers> numbers = read_site_numbers(sheet, column, problem);
    if (!numbers) log_line(fmt::format("{}; {}", problem, without));
    return numbers;
}

template <typename Row>
const Row& shown_row(const std::vector<Row>& rows, const ContrastPlan& plan) {
    for (const Row& row : rows)
        if (row.index == plan.primary_index && row.window == plan.primary_window) return row;
    return rows.front();
}

void adjust_contrasts(const ContrastOptions& options, const ContrastPlan& plan,
                      const std::vector<SiteValue>& values, Outputs& outputs) {
    std::vector<SiteNumbers> columns;
    for (const std::string& name : options.adjust)
        if (auto numbers = usable(options.values, name, "the contrast is not adjusted for it"))
            columns.push_back(std::move(*numbers));
    if (columns.empty()) return;
    const std::vector<AdjustedRow> rows = adjusted_table(values, columns, plan);
    print_wrapped(printable(adjusted_in_words(shown_row(rows, plan), columns, plan)), 2);
    outputs.add("adjusted", adjusted_csv(rows));
}

void follow_gradient(const ContrastOptions& options, const ContrastPlan& plan,
                     const std::vector<SiteValue>& values, Outputs& outputs) {
    if (options.gradient.empty()) return;
    const auto x = usable(options.values, options.gradient, "no gradient is followed");
    if (!x) return;
    const std::vector<GradientRow> rows = gradient_table(values, *x, plan);
    print_wrapped(printable(gradient_in_words(shown_row(rows, plan), *x, plan)), 2);
    outputs.add("gradient", gradient_csv(rows));
}

void follow_seasons(const SheetAnswer& sheet, const ContrastPlan& plan, Outputs& outputs) {
    if (sheet.seasons.empty()) return;
    const std::vector<SeasonRow> rows = season_table(sheet.by_season, sheet.seasons, plan);
    print_wrapped("Seasons: " + printable(shown_row(rows, plan).verdict), 2);
    outputs.add("seasons", seasons_csv(rows));
}

std::string contrast_sheet(const ContrastOptions& options, ContrastPlan plan, Outputs& outputs) {
    const SheetAnswer sheet = answer_of(read_sheet_values(options.values));
    const std::vector<SiteValue>& values = sheet.values;
    if (values.empty())
        throw InputError(printable(options.values) + ": no values",
                         "one line for each site, index and window below the header");
    const std::vector<std::string> classes = classes_in(values);
    choose_pair(options, classes, plan);
    choose_primary(options, values, plan);
    const std::vector<ContrastRow> rows = contrast_table(values, plan);
    fmt::print("{}", primary_text(rows));
    outputs.add("", contrasts_csv(rows));
    if (const auto finding = spread_finding(shown_row(rows, plan)))
        print_wrapped(one_line(*finding), 2);
    if (!sheet.timed.empty()) outputs.add("site_values", csv_of(site_values_table(), sheet.timed));
    follow_seasons(sheet, plan, outputs);
    adjust_contrasts(options, plan, values, outputs);
    follow_gradient(options, plan, values, outputs);
    fmt::print("{}", secondary_text(rows, options.all));
    if (classes.size() > 2) compare_all_classes(plan, values, outputs);
    return overall_verdict(rows, plan);
}

std::string contrast_profiles(const ContrastOptions& options, ContrastPlan plan, Outputs& outputs) {
    const Patterns patterns = read_patterns(options.profiles);
    std::vector<std::string> classes;
    for (const Unit& site : patterns.sites)
        if (std::find(classes.begin(), classes.end(), site.stand) == classes.end())
            classes.push_back(site.stand);
    choose_pair(options, classes, plan);
    const PatternResults results =
        contrast_patterns(patterns, plan, options.cluster_threshold.value_or(2));
    outputs.add("composition", composition_csv(results));
    outputs.add("ordination", ordination_csv(results));
    outputs.add("day_pitch", day_pitch_csv(results));
    return patterns_in_words(results, plan);
}

}  // namespace

ExitCode run_contrast_values(const ContrastOptions& options) {
    for (const std::string& input : {options.values, options.profiles})
        if (!options.out.empty() && !input.empty()) refuse_own_input(options.out, input);
    ContrastPlan plan;
    plan.seed = options.seed.value_or(plan.seed);
    plan.level = options.level.value_or(plan.level);
    plan.matters = options.matters;
    Outputs outputs(options);
    std::string verdict;
    if (!options.profiles.empty()) verdict = contrast_profiles(options, plan, outputs);
    if (!options.values.empty()) {
        if (!verdict.empty()) print_wrapped(printable(verdict));
        verdict = contrast_sheet(options, plan, outputs);
    }
    print_wrapped(printable(verdict) + " " + outputs.words() + ".");
    return ExitCode::ok;
}

}  // namespace hearwood
