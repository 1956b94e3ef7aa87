#include "report/page_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "contrast/listening.h"
#include "contrast/verdict.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

std::string site_counts(const ContrastRow& row) {
    return fmt::format("{} {} and {} {} sites", row.n_a, row.class_a, row.n_b, row.class_b);
}

std::string no_contrast(const Page& page) {
    if (page.survey.sites.empty()) return "The site sheet has no sites yet, so there is no answer.";
    if (page.values.segments == 0) return "Nothing was measured yet, so there is no answer.";
    return fmt::format(
        "The contrast between {} and {} stands has not been worked out yet: run hearwood contrast, "
        "then the report again.",
        page.survey.stands.class_a, page.survey.stands.class_b);
}

std::string untested(const Page& page, const ContrastRow& row) {
    return fmt::format(
        "There is no answer yet: {} could take part, and a test of the {} in the {} window needs "
        "at "
        "least two sites in each class.",
        site_counts(row), page.title_of(row.index), row.window);
}

std::string undecidable(const Page& page, const ContrastRow& row) {
    return fmt::format(
        "With {} no result could reach p = {}, so nothing is shown either way: {} minus {} is {} "
        "in "
        "{} of the {} window (p = {}, least attainable {}).",
        site_counts(row), readable_plain(1 - row.level), row.class_a, row.class_b,
        readable_number(row.difference), page.title_of(row.index), row.window, readable_p(row.p),
        readable_p(row.p_min));
}

std::string undecided(const Page& page, const ContrastRow& row) {
    return fmt::format(
        "No difference between {} and {} stands is shown in the {} of the {} window: {} minus {} "
        "is "
        "{}, "
        "and anything from {} remains possible ({} interval, p = {}, {}).",
        row.class_a, row.class_b, page.title_of(row.index), row.window, row.class_a, row.class_b,
        readable_number(row.difference), interval_words(row), percent(row.level), readable_p(row.p),
        site_counts(row));
}

std::string confounded(const Page& page) {
    const Finding* worst = worst_explanation(page.findings);
    return worst ? fmt::format(", but {} cannot be told from the stand", confounder_of(*worst))
                 : "";
}

std::string decided(const Page& page, const ContrastRow& row) {
    return fmt::format(
        "In the {} window the {} is {} at {} than at {} sites, by {} ({} interval {}, p = {}, "
        "{}){}.",
        row.window, page.title_of(row.index), row.difference > 0 ? "higher" : "lower", row.class_a,
        row.class_b, readable_number(std::abs(row.difference)), percent(row.level),
        interval_words(row), readable_p(row.p), site_counts(row), confounded(page));
}

std::string day_and_month(Date date, bool with_year) {
    constexpr std::array<const char*, 12> months{"January",   "February", "March",    "April",
                                                 "May",       "June",     "July",     "August",
                                                 "September", "October",  "November", "December"};
    const std::chrono::year_month_day ymd{date};
    const std::string text = fmt::format("{} {}", static_cast<unsigned>(ymd.day()),
                                         months[static_cast<unsigned>(ymd.month()) - 1]);
    return with_year ? fmt::format("{} {}", text, static_cast<int>(ymd.year())) : text;
}

}  // namespace

std::string interval_words(const ContrastRow& row) {
    const bool low = std::isfinite(row.ci_low), high = std::isfinite(row.ci_high);
    if (low && high) return readable_number(row.ci_low) + " to " + readable_number(row.ci_high);
    if (low) return readable_number(row.ci_low) + " upwards";
    if (high) return readable_number(row.ci_high) + " downwards";
    return "unbounded";
}

std::string answer_sentence(const Page& page) {
    const ContrastRow* row = page.primary();
    if (!row) return no_contrast(page);
    if (!row->tested()) return untested(page, *row);
    if (!page.declared) {
        const std::string all = overall_verdict(page.contrasts, page.plan);
        return all + fmt::format(" Shown below is the {} in the {} window.",
                                 page.title_of(row->index), row->window);
    }
    if (row->unbounded()) return undecidable(page, *row);
    return row->significant() ? decided(page, *row) : undecided(page, *row);
}

namespace {

/// What the listening check says against the index of a declared outcome; empty where it says
/// nothing against it.
std::string against_the_ear(const Page& page) {
    const ContrastRow* row = page.primary();
    if (!row || !row->tested() || !page.declared) return {};
    const char sign = listening_sign(page.heard, row->index);
    if (sign != 'x' && sign != '-') return {};
    return fmt::format(
        "in this survey's listening check {} {}. {}", row->index,
        listening_mark(page.heard, row->index),
        sign == 'x' ? "A difference in it need not be one in animals."
                    : "It fell where more animals were heard, so read its sign with that in mind.");
}

}  // namespace

std::string main_doubt(const Page& page) {
    if (page.contrasts_stale)
        return "the contrasts are older than what is measured now, or were worked out under other "
               "settings. Run hearwood contrast, then the report again.";
    if (!mixed_sample_rates(page.survey, page.values).empty())
        return "the sites compared were recorded at different sample rates, so that their indices "
               "are different quantities.";
    const auto worst = std::find_if(page.findings.begin(), page.findings.end(),
                                    [](const Finding& f) { return f.severity != Severity::note; });
    std::string ear = against_the_ear(page);
    if (worst != page.findings.end() && (ear.empty() || worst->severity == Severity::serious))
        return worst->what;
    if (!ear.empty()) return ear;
    const ContrastRow* row = page.primary();
    if (!row || !row->tested()) return "there is no answer yet that could be doubted.";
    if (!page.declared)
        return "no outcome was declared before the data were seen, so every row is one of many.";
    if (row->unbounded())
        return "there are too few sites: more recordings of the same sites would not help.";
    return "an index is not an animal. " + listening_remark(page.plan);
}

std::string date_range(const Page& page) {
    if (page.values.site_hours.empty()) return {};
    const auto before = [](const DateMean& a, const DateMean& b) { return a.date < b.date; };
    const auto [first, last] =
        std::minmax_element(page.values.site_hours.begin(), page.values.site_hours.end(), before);
    if (first->date == last->date) return day_and_month(first->date, true);
    const bool same_year = std::chrono::year_month_day{first->date}.year() ==
                           std::chrono::year_month_day{last->date}.year();
    return day_and_month(first->date, !same_year) + " to " + day_and_month(last->date, true);
}

}  // namespace hearwood
