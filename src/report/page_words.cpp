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

/// "Acoustic complexity index, dawn": the verdict's words with a name that can be read.
std::string outcome_name(const Page& page, const ContrastRow& row) {
    std::string name = page.title_of(row.index) + ", " + row.window;
    if (name.front() >= 'a' && name.front() <= 'z')
        name.front() = static_cast<char>(name.front() - 'a' + 'A');
    return name;
}

std::string no_contrast(const Page& page) {
    if (page.survey.sites.empty()) return "The site sheet has no sites yet, so there is no answer.";
    if (page.values.segments == 0) return "Nothing was measured yet, so there is no answer.";
    if (!page.refused.empty())
        return fmt::format(
            "There is no answer: the contrast between {} and {} stands is refused. {}",
            page.survey.stands.class_a, page.survey.stands.class_b, page.refused);
    return "No index is measured in any window, so there is no answer.";
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

std::string answer_sentence(const Page& page) {
    const ContrastRow* row = page.primary();
    if (!row) return no_contrast(page);
    if (!page.declared)
        return overall_verdict(page.contrast.contrasts, page.contrast.plan) +
               fmt::format(" Shown below is the {} in the {} window.", page.title_of(row->index),
                           row->window);
    return verdict(*row, outcome_name(page, *row)) +
           (row->tested() ? fmt::format(" Compared: {} {} and {} {} sites.", row->n_a, row->class_a,
                                        row->n_b, row->class_b)
                          : "");
}

namespace {

/// What the listening check says against the index of a declared outcome; empty where it says
/// nothing against it.
std::string against_the_ear(const Page& page) {
    const ContrastRow* row = page.primary();
    if (!row || !row->tested() || !page.declared) return {};
    const char sign = listening_sign(page.contrast.heard, row->index);
    if (sign != 'x' && sign != '-') return {};
    return fmt::format(
        "in this survey's listening check {} {}. {}", row->index,
        listening_mark(page.contrast.heard, row->index),
        sign == 'x' ? "A difference in it need not be one in animals."
                    : "It fell where more animals were heard, so read its sign with that in mind.");
}

}  // namespace

std::string main_doubt(const Page& page) {
    if (!mixed_sample_rates(page.survey, page.values).empty())
        return "the sites compared were recorded at different sample rates, so that their indices "
               "are different quantities.";
    const auto worst =
        std::find_if(page.contrast.audit.findings.begin(), page.contrast.audit.findings.end(),
                     [](const Finding& f) { return f.severity != Severity::note; });
    std::string ear = against_the_ear(page);
    if (worst != page.contrast.audit.findings.end() &&
        (ear.empty() || worst->severity == Severity::serious))
        return worst->what;
    if (!ear.empty()) return ear;
    const ContrastRow* row = page.primary();
    if (!row || !row->tested()) return "there is no answer yet that could be doubted.";
    if (!page.declared)
        return "no outcome was declared before the data were seen, so every row is one of many.";
    if (row->unbounded())
        return "there are too few sites: more recordings of the same sites would not help.";
    return "an index is not an animal. " + listening_remark(page.contrast.plan);
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
