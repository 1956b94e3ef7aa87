#include "contrast/answer_text.h"

#include <fmt/core.h>

#include <algorithm>
#include <limits>
#include <utility>

#include "aggregate/applied_steps.h"
#include "aggregate/card_evidence.h"
#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/audit_inputs.h"
#include "contrast/beside.h"
#include "contrast/verdict.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

// A survey with many bands has hundreds of rows; files hold them all.
constexpr std::size_t kPairsShown = 12;
constexpr std::size_t kSecondaryShown = 10, kNoLimit = std::numeric_limits<std::size_t>::max();

std::string classes_text(std::span<const ClassesRow> rows) {
    std::string text;
    text += fmt::format(
        "All classes together (exact permutation F, adj. p: max-F over {})\n{}{}{}{}{}\n",
        rows.size(), left("index window", 34), right("sites", 6), right("F", 10), right("p", 10),
        right("adj. p", 10));
    for (const ClassesRow& row : rows)
        text += fmt::format(
            "{}{}{}{}{}{}\n", left(cut(printable(row.index + " " + row.window), 33), 34),
            right(std::to_string(row.sites), 6),
            right(!is_missing(row.f) ? readable_number(row.f) : "n/a", 10),
            right(readable_p(row.p), 10), right(readable_p(row.p_adjusted), 10),
            row.single.empty() ? "" : "\n    not in it: " + printable(join(row.single, ", ")));
    return text + "\n";
}

/// What could explain the primary contrast (any contrast, where none is declared).
std::string findings_text(const Audit& audit, bool in_run) {
    std::string text;
    for (const Finding& finding : audit.findings)
        if (can_explain(finding.code) && !(in_run && is_of_card(finding.code)))
            text += wrapped("  " + one_line(finding), 4);
    if (text.empty())
        return wrapped(
            "The audit of the design found nothing else that could explain a difference. " +
            audit.looked_at + " " + unseen_by_audit());
    return "What else could explain a difference between the classes\n" + text;
}

/// What a person decided about the data; in a run check has said it.
std::string decisions_text(const Audit& audit, bool in_run) {
    if (in_run) return {};
    std::string text;
    for (const Finding& finding : audit.findings)
        if (finding.code == FindingCode::decision) text += wrapped("  " + one_line(finding), 4);
    return text.empty() ? text : "Decisions about the data\n" + text;
}

std::string profile_text(const std::vector<NamedProfile>& profiles, const ContrastPlan& plan,
                         bool all) {
    constexpr std::size_t kShown = 10;
    std::vector<std::pair<std::ptrdiff_t, std::string>> clear;
    for (const NamedProfile& named : profiles) {
        const auto hours = std::count_if(
            named.profile.steps.begin(), named.profile.steps.end(),
            [&](const ProfileStep& step) { return reaches(step.p_adjusted, plan.level); });
        if (hours > 0) clear.emplace_back(hours, named.index);
    }
    if (clear.empty())
        return wrapped("By hour: no hour differs once all hours of an index are considered.", 2);
    std::stable_sort(clear.begin(), clear.end(),
                     [](const auto& one, const auto& other) { return one.first > other.first; });
    std::vector<std::string> names;
    for (const auto& [hours, index] : clear)
        if (all || names.size() < kShown)
            names.push_back(fmt::format("{} in {}", index, counted(hours, "hour")));
    std::string text =
        "By hour (adjusted over the hours of an index) the classes differ in " + join(names, ", ");
    if (names.size() < clear.size())
        text +=
            fmt::format(", and in fewer hours in {}",
                        counted(clear.size() - names.size(), "further index", "further indices"));
    return wrapped(text + ".", 2);
}

std::string nearby_text(const Survey& survey, const SurveyContrast& contrast) {
    if (!contrast.nearby_as_one) return {};
    return wrapped(fmt::format("With sites nearer than {} m counted as one: {}",
                               readable_number(survey.stands.listening_distance_m),
                               printable(contrast.nearby_as_one->verdict)),
                   2);
}

std::string seasons_text(const SurveyContrast& results) {
    std::string text;
    const ContrastRow* shown = results.shown();
    for (const SeasonRow& row : results.seasons)
        if (shown && row.index == shown->index && row.window == shown->window)
            text += wrapped("Seasons: " + printable(row.verdict), 2);
    return text;
}

std::string next_season_text(const SurveyContrast& results) {
    const ContrastRow* row = results.shown();
    std::string text;
    if (!row) return text;
    for (const VarianceRow& variance : results.variances)
        if (variance.index == row->index && variance.window == row->window)
            text += wrapped(fmt::format("Next season ({}, {}): {}", row->index, row->window,
                                        next_season(variance.components, *row)),
                            2);
    return text;
}

/// What goes without for wrong rows of the sheets: beside the answer, in a run too.
std::string left_out_text(const Survey& survey) {
    const std::string left_out = left_out_in_words(survey);
    if (left_out.empty()) return {};
    return wrapped("Left out of all of this, for their rows in the sheets are wrong: " +
                       printable(left_out) + ". Correct the rows and run again.",
                   2);
}

}  // namespace

std::string primary_text(std::span<const ContrastRow> rows,
                         const std::vector<ListeningResult>& heard) {
    std::string text = primary_table(rows, heard);
    for (const ContrastRow& row : rows)
        if (row.tested() && (row.role == Role::primary || rows.size() == 1)) {
            text += wrapped(printable(effect_in_words(row)));
            text += "\n";
        }
    return text;
}

std::string secondary_text(std::span<const ContrastRow> rows, bool all,
                           const std::vector<ListeningResult>& heard) {
    return secondary_table(rows, heard, all ? kNoLimit : kSecondaryShown);
}

std::string more_classes_text(std::span<const ContrastRow> pairs,
                              std::span<const ClassesRow> together) {
    std::string text;
    text += "Every other pair of classes (adjusted within each pair)\n";
    std::size_t shown = 0;
    for (const ContrastRow& row : pairs) {
        if (!row.significant() && pairs.size() > kPairsShown) continue;
        text += wrapped("  " + printable(row.verdict), 4);
        ++shown;
    }
    if (shown < pairs.size())
        text += fmt::format(
            "  {} in nothing once adjusted, or could not be tested\n",
            counted(pairs.size() - shown, "further pair differs", "further pairs differ"));
    return text + "\n" + classes_text(together);
}

std::string answer_text(const Survey& survey, const SurveyContrast& contrast,
                        const KeptResults& kept, bool all_rows, bool in_run) {
    std::string text = primary_text(contrast.contrasts, contrast.heard);
    text += findings_text(contrast.audit, in_run) + decisions_text(contrast.audit, in_run);
    text += left_out_text(survey) + nearby_text(survey, contrast);
    if (const ContrastRow* shown = contrast.shown())
        for (const std::string& sentence : beside_in_words(contrast.beside, *shown, contrast.plan))
            text += wrapped(printable(sentence), 2);
    text += seasons_text(contrast);
    if (!kept.is_old(kListening)) text += wrapped(listening_remark(contrast.plan));
    for (const Finding& old : told_as_old(kept)) text += wrapped(sentences(old));
    text += "\n";
    text += secondary_text(contrast.contrasts, all_rows, contrast.heard);
    if (contrast.more_classes) text += more_classes_text(contrast.pairs, contrast.classes);
    text += profile_text(contrast.hours, contrast.plan, all_rows);
    if (contrast.shown())
        text += wrapped("Hours and bands: " +
                            printable(patterns_in_words(contrast.beside.patterns, contrast.plan)),
                        2);
    return text + next_season_text(contrast) + "\n";
}

}  // namespace hearwood
