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

namespace {

/// "At dawn" for the built-in windows, "In the window early" for others.
std::string in_window(const std::string& window) {
    if (window == "dawn" || window == "dusk" || window == "night") return "At " + window;
    if (window == "day") return "By day";
    return "In the window " + window;
}

/// "higher acoustic complexity index"; of what is counted, "more sound events a minute".
std::string higher(const Page& page, const std::string& index) {
    const int place = page.values.column(index);
    const bool counted =
        place >= 0 && page.values.columns[static_cast<std::size_t>(place)].unit == "1/min";
    return counted ? "more " + page.title_of(index) + " a minute"
                   : "higher " + page.title_of(index);
}

/// Values of the shown contrast's sites: class A, class B.
std::array<std::vector<double>, 2> compared_values(const Page& page, const ContrastRow& row) {
    std::array<std::vector<double>, 2> values;
    const int place = page.values.column(row.index);
    const auto out = page.left_out();
    for (const SiteMean& mean : page.values.window_means) {
        const Site& site = page.survey.sites[mean.site];
        const bool left = std::any_of(out.begin(), out.end(),
                                      [&](const auto& one) { return one.first == site.name; });
        if (place < 0 || left ||
            page.values.windows[static_cast<std::size_t>(mean.part)] != row.window)
            continue;
        if (site.stand == row.class_a || site.stand == row.class_b)
            values[site.stand == row.class_b].push_back(
                mean.values[static_cast<std::size_t>(place)]);
    }
    return values;
}

/// "each of the 6 rich sites lies above each of the 6 poor ones", or in how many pairs.
std::string overlap(const Page& page, const ContrastRow& row) {
    auto [a, b] = compared_values(page, row);
    const bool a_higher = row.difference > 0;
    const std::string& high = a_higher ? row.class_a : row.class_b;
    const std::string& low = a_higher ? row.class_b : row.class_a;
    if (!a_higher) std::swap(a, b);
    std::size_t above = 0;
    for (const double x : a)
        above += static_cast<std::size_t>(
            std::count_if(b.begin(), b.end(), [x](double y) { return x > y; }));
    if (above == a.size() * b.size())
        return fmt::format("each of the {} {} sites lies above each of the {} {} ones", a.size(),
                           high, b.size(), low);
    return fmt::format("of {} pairs of a {} and a {} site, the {} one is higher in {}",
                       a.size() * b.size(), high, low, high, above);
}

/// Whether sounds counted on even terms show the same; empty where they were not compared, or are
/// what is shown.
std::string events_say(const Page& page, const ContrastRow& row) {
    const ContrastRow* even = page.beside("even_events");
    if (!even || !even->tested() || row.index == even->index) return {};
    const bool shown = reaches(even->deciding_p(), even->level);
    const bool same_sign = (even->difference > 0) == (row.difference > 0);
    const char* said = !row.significant() ? (shown ? "differ when taken alone" : "show none either")
                       : !shown || !same_sign ? "do not say so"
                       : even->significant()
                           ? "say so too"
                           : "say so too when taken alone, not once all outcomes are considered";
    return fmt::format(" Sounds counted on even terms {}.", said);
}

}  // namespace

std::string plain_answer(const Page& page) {
    const ContrastRow* row = page.primary();
    if (!row || !row->tested()) return {};
    const std::string when = in_window(row->window), what = page.title_of(row->index);
    if (row->unbounded())
        return fmt::format(
            "{}, so few sites cannot tell whether {} differs between {} and {} sites.", when, what,
            row->class_a, row->class_b);
    if (!row->significant())
        return fmt::format("{}, no difference in {} is shown between {} and {} sites.", when, what,
                           row->class_a, row->class_b) +
               events_say(page, *row);
    const bool a_higher = row->difference > 0;
    return fmt::format("{}, {} sites have {} than {} sites: {}.", when,
                       a_higher ? row->class_a : row->class_b, higher(page, row->index),
                       a_higher ? row->class_b : row->class_a, overlap(page, *row)) +
           events_say(page, *row);
}

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
        "in this survey's listening check the {} {}. {}", page.title_of(row->index),
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
