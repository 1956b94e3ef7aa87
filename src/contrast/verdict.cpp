#include "contrast/verdict.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

/// "3 sites of rich" or "1 site of poor".
std::string sites_of(int count, const std::string& stand) {
    return counted(count, "site") + " of " + stand;
}

std::string interval(const ContrastRow& row) {
    return fmt::format("{} interval {} to {} if the classes differ by a shift alone",
                       percent(row.level), readable_number(row.ci_low),
                       readable_number(row.ci_high));
}

/// "p = 0.03", or which of two p decides and why.
std::string p_in_words(const ContrastRow& row) {
    const std::string p = fmt::format("p = {}", readable_p(row.deciding_p()));
    if (!row.unequal_counts || is_missing(row.p_unequal)) return p;
    return fmt::format(
        "{}, the larger of {} (classes that spread alike) and {} (that do not), as the numbers of "
        "sites differ",
        p, readable_p(row.p), readable_p(row.p_unequal));
}

/// "higher at rich than at poor sites by 4.2"
std::string direction(const ContrastRow& row) {
    return fmt::format("{} at {} than at {} sites by {}", row.difference > 0 ? "higher" : "lower",
                       row.class_a, row.class_b, readable_number(std::abs(row.difference)));
}

std::string untested(const ContrastRow& row) {
    std::vector<std::string> short_classes;
    if (row.n_a < 2) short_classes.push_back(sites_of(row.n_a, row.class_a));
    if (row.n_b < 2) short_classes.push_back(sites_of(row.n_b, row.class_b));
    return fmt::format(
        "not tested: {} could take part, and a test needs at least 2 sites in each class",
        join(short_classes, " and "));
}

std::string undecidable(const ContrastRow& row) {
    return fmt::format(
        "no result could reach p = {} with {} and {}{}: the least attainable p is {}, so the "
        "interval is unbounded and nothing is shown either way ({} minus {} is {}, p = {})",
        readable_number(1 - row.level), sites_of(row.n_a, row.class_a),
        sites_of(row.n_b, row.class_b), row.has_blocks ? " in these blocks" : "",
        readable_p(row.p_min), row.class_a, row.class_b, readable_number(row.difference),
        readable_p(row.p));
}

std::string undecided(const ContrastRow& row) {
    return fmt::format(
        "no difference shown between {} and {} sites ({} minus {} is {}, {}; {}); any difference "
        "inside the interval remains possible",
        row.class_a, row.class_b, row.class_a, row.class_b, readable_number(row.difference),
        interval(row), p_in_words(row));
}

std::string decided(const ContrastRow& row) {
    const std::string found =
        fmt::format("{} ({}; {}", direction(row), interval(row), p_in_words(row));
    if (row.role == Role::primary) return found + "; primary outcome)";
    if (row.family < 2) return found + ")";
    if (is_missing(row.p_adjusted))
        return found + "; not adjusted, as class and block leave nothing over)";
    const std::string adjusted = fmt::format("p = {} after adjustment for {} outcomes",
                                             readable_p(row.p_adjusted), row.family);
    if (row.significant()) return fmt::format("{}; {})", found, adjusted);
    return fmt::format("{}) when taken alone, but not shown once all are considered: {}", found,
                       adjusted);
}

std::string left_out(const ContrastRow& row) {
    std::string text;
    if (!row.dropped_blocks.empty())
        text += fmt::format("; {} {} dropped out, with only one class left there",
                            row.dropped_blocks.size() == 1 ? "block" : "blocks",
                            join(row.dropped_blocks, ", "));
    if (!row.missing_sites.empty())
        text += fmt::format("; without {}, which {} no value", join(row.missing_sites, ", "),
                            row.missing_sites.size() == 1 ? "has" : "have");
    return text;
}

/// What goes along with the stand can make a difference or hide one: it is told with either.
std::string confounded(const ContrastRow& row) {
    if (row.confounder.empty() || !row.tested()) return {};
    return fmt::format(", but {} cannot be told from the stand", row.confounder);
}

constexpr const char* kEven = "even_";

std::string finding(const ContrastRow& row) {
    if (!row.tested()) return untested(row);
    if (row.unbounded()) return undecidable(row);
    return reaches(row.deciding_p(), row.level) ? decided(row) : undecided(row);
}

/// One sentence: does what the row says hold for its twin on even terms?
std::string on_even_terms(const ContrastRow& row, const ContrastRow& even) {
    constexpr const char* kHeard = "when every site is heard through the same noise";
    const std::string numbers =
        fmt::format("({}: {}, {}, p = {})", even.index, readable_number(even.difference),
                    interval(even), readable_p(even.deciding_p()));
    const bool shown = reaches(row.deciding_p(), row.level),
               shown_even = reaches(even.deciding_p(), even.level);
    if (!shown)
        return shown_even ? fmt::format("But {} it is {} {}.", kHeard, direction(even), numbers)
                          : fmt::format("Nor is one {} {}.", kHeard, numbers);
    const bool same_sign = (row.difference > 0) == (even.difference > 0);
    return shown_even && same_sign ? fmt::format("This also holds {} {}.", kHeard, numbers)
                                   : fmt::format("But not {} {}.", kHeard, numbers);
}

/// Beside what was declared to matter; empty where nothing was, or nothing is bounded.
std::string ending_in_words(const ContrastRow& row) {
    if (!row.ending || (row.unbounded() && *row.ending == Ending::undecided)) return {};
    const std::string matters = format_number(row.matters);
    switch (*row.ending) {
        case Ending::more:
            return fmt::format("; it is more than {}, the smallest difference that matters",
                               matters);
        case Ending::smaller:
            return fmt::format(
                "; it is smaller than {}, the smallest difference that matters ({} interval {} to "
                "{})",
                matters, percent(2 * row.level - 1), readable_number(row.narrow.low),
                readable_number(row.narrow.high));
        case Ending::some:
            return fmt::format(
                "; some difference, and undecided whether it reaches {}, the smallest that matters",
                matters);
        case Ending::undecided:
            return fmt::format(
                "; undecided whether it reaches {}, the smallest difference that matters", matters);
    }
    return {};
}

}  // namespace

std::string verdict(const ContrastRow& row, const std::string& outcome) {
    return fmt::format("{}: {}{}{}{}.", outcome, finding(row), left_out(row), ending_in_words(row),
                       confounded(row));
}

std::string verdict(const ContrastRow& row) {
    return verdict(row, row.index + ", " + row.window);
}

std::optional<Finding> spread_finding(const ContrastRow& row) {
    if (!row.unequal_counts || !(row.spread_ratio > 2)) return std::nullopt;
    Finding finding{Severity::doubt, FindingCode::spread, {}, {}, {}};
    finding.what = fmt::format(
        "{} in {}: with {} and {} one class varies {} times as much as the other, so that an equal "
        "spread cannot be taken for granted",
        row.index, row.window, sites_of(row.n_a, row.class_a), sites_of(row.n_b, row.class_b),
        readable_number(row.spread_ratio));
    finding.fix =
        is_missing(row.p_unequal)
            ? "With two blocks no test can bear that: take p with a grain of salt, and plan equal "
              "numbers of sites"
            : "The verdict goes by the larger of two p; plan equal numbers of sites";
    return finding;
}

std::string effect_in_words(const ContrastRow& row) {
    if (!row.tested()) return {};
    std::string text;
    if (!is_missing(row.hedges_g))
        text = fmt::format(
            "Hedges' g = {}: the classes lie {} standard deviations of sites within a class "
            "apart. ",
            readable_number(row.hedges_g), readable_number(std::abs(row.hedges_g)));
    else
        text = "Hedges' g does not exist: the sites within each class are all equal. ";
    return text +
           fmt::format(
               "Cliff's delta = {}: of all pairs of one {} and one {} site, {} has the higher "
               "value in {} of 100 (equal values count half).",
               readable_number(row.cliffs_delta), row.class_a, row.class_b, row.class_a,
               readable_plain(std::round(50 * (1 + row.cliffs_delta))));
}

std::string listening_remark(const ContrastPlan& plan) {
    if (!plan.listening.empty()) return plan.listening;
    return "No listening check was made: nobody has compared these numbers with what people hear.";
}

std::string even_remark(std::span<const ContrastRow> rows) {
    const auto primary = std::find_if(
        rows.begin(), rows.end(), [](const ContrastRow& row) { return row.role == Role::primary; });
    if (primary == rows.end() || primary->index.starts_with(kEven)) return {};
    const auto twin = [&](const std::string& index) -> const ContrastRow* {
        const auto found = std::find_if(rows.begin(), rows.end(), [&](const ContrastRow& row) {
            return row.index == index && row.window == primary->window;
        });
        return found == rows.end() || !found->tested() ? nullptr : &*found;
    };
    std::string text;
    const ContrastRow* even = twin(kEven + primary->index);
    if (even && primary->tested() && !primary->unbounded())
        text = " " + on_even_terms(*primary, *even);
    const ContrastRow* events = twin(kEven + std::string("events"));
    if (events && events != even)
        text += fmt::format(" Sound events, every site heard through the same noise: {}.",
                            finding(*events));
    return text;
}

std::string path_remark(std::span<const ContrastRow> rows, const ContrastPlan& plan) {
    const auto primary = std::find_if(
        rows.begin(), rows.end(), [](const ContrastRow& row) { return row.role == Role::primary; });
    if (plan.beside_even.empty()) return {};
    const auto is_even = [](const ContrastRow& row) {
        return row.index.starts_with(kEven) && row.tested();
    };
    const bool is_shown = primary == rows.end() ? std::any_of(rows.begin(), rows.end(), is_even)
                                                : is_even(*primary) || !even_remark(rows).empty();
    return is_shown ? " " + plan.beside_even : std::string();
}

std::string overall_verdict(std::span<const ContrastRow> rows, const ContrastPlan& plan) {
    int tested = 0, shown = 0;
    for (const ContrastRow& row : rows) {
        if (row.role == Role::primary)
            return row.verdict + even_remark(rows) + path_remark(rows, plan);
        tested += row.tested();
        shown += row.significant();
    }
    if (tested == 0) return "Nothing could be tested: fewer than 2 sites in a class.";
    if (tested == 1 && rows.size() == 1) return rows.front().verdict;
    const std::string text = fmt::format(
        "No primary outcome was declared; {} of {} outcomes differ between {} and {} sites with an "
        "adjusted p of at most {}.",
        shown == 0 ? "none" : std::to_string(shown), tested, plan.class_a, plan.class_b,
        readable_number(1 - plan.level));
    return text + path_remark(rows, plan);
}

}  // namespace hearwood
