#include "contrast/contrast_sheets.h"

#include <fmt/core.h>

#include <algorithm>
#include <utility>

#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
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

[[noreturn]] void refuse_class(const std::string& name, const std::vector<std::string>& classes) {
    const std::optional<std::string> near = nearest(name, classes);
    throw InputError(fmt::format("--compare: no site is of class '{}'", printable(name)),
                     near ? fmt::format("did you mean '{}'?", printable(*near))
                          : "the classes of the file are " + printable(join(classes, ", ")));
}

template <typename Row>
const Row& shown_row(const std::vector<Row>& rows, const ContrastPlan& plan) {
    for (const Row& row : rows)
        if (row.index == plan.primary_index && row.window == plan.primary_window) return row;
    return rows.front();
}

/// One question on its way: what was chosen so far, and what has come out.
class SheetsContrast {
  public:
    explicit SheetsContrast(const SheetsQuestion& question) : question_(question) {
        plan_.seed = question.seed.value_or(plan_.seed);
        plan_.level = question.level.value_or(plan_.level);
        plan_.matters = question.matters;
    }

    void contrast_profiles() {
        const Patterns patterns = read_patterns(question_.profiles);
        std::vector<std::string> classes;
        for (const Unit& site : patterns.sites)
            if (std::find(classes.begin(), classes.end(), site.stand) == classes.end())
                classes.push_back(site.stand);
        choose_pair(classes);
        const PatternResults results =
            contrast_patterns(patterns, plan_, question_.cluster_threshold.value_or(2));
        add("composition", composition_csv(results));
        add("ordination", ordination_csv(results));
        add("day_pitch", day_pitch_csv(results));
        answer_.verdict = patterns_in_words(results, plan_);
    }

    void contrast_values() {
        const SheetAnswer sheet = answer_of(read_sheet_values(question_.values));
        const std::vector<SiteValue>& values = sheet.values;
        if (values.empty())
            throw InputError(printable(question_.values) + ": no values",
                             "one line for each site, index and window below the header");
        const std::vector<std::string> classes = classes_in(values);
        choose_pair(classes);
        choose_primary(values);
        const std::vector<ContrastRow> rows = contrast_table(values, plan_);
        answer_.text += primary_text(rows);
        add("", contrasts_csv(rows));
        if (const auto finding = spread_finding(shown_row(rows, plan_))) say(one_line(*finding));
        if (!sheet.timed.empty()) add("site_values", csv_of(site_values_table(), sheet.timed));
        follow_seasons(sheet);
        adjust_contrasts(values);
        follow_gradient(values);
        answer_.text += secondary_text(rows, question_.all);
        if (classes.size() > 2) compare_all_classes(values);
        answer_.verdict = overall_verdict(rows, plan_);
    }

    /// What is decided by now is no longer the last word.
    void go_on() {
        if (!answer_.verdict.empty()) answer_.text += wrapped(printable(answer_.verdict));
    }

    SheetsAnswer answer() && { return std::move(answer_); }

  private:
    void say(const std::string& sentence) { answer_.text += wrapped(sentence, 2); }
    void add(const std::string& what, std::string bytes) {
        answer_.files.push_back({what, std::move(bytes)});
    }

    /// Without --compare two classes are taken in alphabetical order, and that is said.
    void choose_pair(std::vector<std::string> classes) {
        std::sort(classes.begin(), classes.end());
        if (question_.compare.empty()) {
            if (classes.size() != 2)
                throw InputError(
                    fmt::format("the file has {} classes ({})", classes.size(),
                                printable(join(classes, ", "))),
                    "say which two to compare: --compare A,B (the difference is A minus B)");
            plan_.class_a = classes[0];
            plan_.class_b = classes[1];
            answer_.text += fmt::format("No --compare: {} minus {}, in alphabetical order.\n\n",
                                        printable(classes[0]), printable(classes[1]));
            return;
        }
        const auto pair = pair_of(question_.compare);
        if (!pair || pair->first == pair->second)
            throw InputError(
                fmt::format("--compare '{}' is not two classes", printable(question_.compare)),
                "write --compare A,B with the two class names, the difference is A minus B");
        for (const std::string& name : {pair->first, pair->second})
            if (std::find(classes.begin(), classes.end(), name) == classes.end())
                refuse_class(name, classes);
        plan_.class_a = pair->first;
        plan_.class_b = pair->second;
    }

    void choose_primary(const std::vector<SiteValue>& values) {
        if (question_.primary.empty()) return;
        const auto pair = pair_of(question_.primary);
        if (!pair)
            throw InputError(fmt::format("--primary '{}' is not an index and a window",
                                         printable(question_.primary)),
                             "write --primary INDEX,WINDOW");
        const bool known = std::any_of(values.begin(), values.end(), [&](const SiteValue& value) {
            return value.index == pair->first && value.window == pair->second;
        });
        if (!known)
            throw InputError(fmt::format("--primary: the file has no values of '{}' in '{}'",
                                         printable(pair->first), printable(pair->second)),
                             "check the spelling against the columns index and window");
        plan_.primary_index = pair->first;
        plan_.primary_window = pair->second;
    }

    void compare_all_classes(const std::vector<SiteValue>& values) {
        const std::vector<ContrastRow> pairs = other_pairs(values, plan_);
        const std::vector<ClassesRow> together = classes_table(values, plan_);
        answer_.text += more_classes_text(pairs, together);
        add("pairs", contrasts_csv(pairs));
        add("classes", classes_csv(together));
    }

    std::optional<SiteNumbers> usable(const std::string& column, const std::string& without) {
        std::string problem;
        auto numbers = read_site_numbers(question_.values, column, problem);
        if (!numbers) log_line(fmt::format("{}; {}", problem, without));
        return numbers;
    }

    void adjust_contrasts(const std::vector<SiteValue>& values) {
        std::vector<SiteNumbers> columns;
        for (const std::string& name : question_.adjust)
            if (auto numbers = usable(name, "the contrast is not adjusted for it"))
                columns.push_back(std::move(*numbers));
        if (columns.empty()) return;
        const std::vector<AdjustedRow> rows = adjusted_table(values, columns, plan_);
        say(printable(adjusted_in_words(shown_row(rows, plan_), columns, plan_)));
        add("adjusted", adjusted_csv(rows));
    }

    void follow_gradient(const std::vector<SiteValue>& values) {
        if (question_.gradient.empty()) return;
        const auto x = usable(question_.gradient, "no gradient is followed");
        if (!x) return;
        const std::vector<GradientRow> rows = gradient_table(values, *x, plan_);
        say(printable(gradient_in_words(shown_row(rows, plan_), *x, plan_)));
        add("gradient", gradient_csv(rows));
    }

    void follow_seasons(const SheetAnswer& sheet) {
        if (sheet.seasons.empty()) return;
        const std::vector<SeasonRow> rows = season_table(sheet.by_season, sheet.seasons, plan_);
        say("Seasons: " + printable(shown_row(rows, plan_).verdict));
        add("seasons", seasons_csv(rows));
    }

    const SheetsQuestion& question_;
    ContrastPlan plan_;
    SheetsAnswer answer_;
};

}  // namespace

SheetsAnswer contrast_sheets(const SheetsQuestion& question) {
    SheetsContrast contrast(question);
    if (!question.profiles.empty()) contrast.contrast_profiles();
    if (!question.values.empty()) {
        contrast.go_on();
        contrast.contrast_values();
    }
    return std::move(contrast).answer();
}

}  // namespace hearwood
