// The calendar in the terminal: plain characters, so that any screen shows it.
#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <set>

#include "aggregate/coverage.h"
#include "aggregate/placement.h"
#include "base/lines.h"
#include "base/text.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

constexpr double kNearlyAll = 0.95;
constexpr const char* kLegend =
    "# all there   + part   x there, not usable   . missing   (blank) not expected\n";

struct Minutes {
    double expected = 0, present = 0, usable = 0;
    void add(const HourCoverage& hour) {
        expected += hour.expected;
        present += hour.present;
        usable += hour.usable;
    }
};

char sign(const Minutes& m) {
    const double wanted = std::max(m.expected, m.present);
    if (wanted <= 0) return ' ';
    if (m.present <= 0) return '.';
    if (m.usable <= 0) return 'x';
    return m.usable >= kNearlyAll * wanted ? '#' : '+';
}

/// The name cut or filled up to a width in characters.
std::string name_cell(const std::string& name, int width) {
    return left(first_characters(printable(name), width), width);
}

/// Stretches of dates, first and last; two weeks without anything part two visits.
std::vector<std::pair<Date, Date>> stretches_of(const std::set<Date>& dates) {
    std::vector<std::pair<Date, Date>> stretches;
    for (const Date date : dates)
        if (stretches.empty() || date - stretches.back().second > kBetweenVisits)
            stretches.emplace_back(date, date);
        else
            stretches.back().second = date;
    return stretches;
}

/// The rows of [from, to): deployments with anything in the stretch that this is a part of.
std::string block_of(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                     const std::pair<Date, Date>& stretch, Date from, Date to, int name_width) {
    std::string text = "from " + format_date(from) + ", one character per date\n";
    for (const DeploymentCoverage& coverage : coverages) {
        std::map<Date, Minutes> of_date;
        for (const HourCoverage& hour : coverage.hours)
            if (hour.date >= stretch.first && hour.date <= stretch.second)
                of_date[hour.date].add(hour);
        if (of_date.empty() && !coverage.hours.empty()) continue;
        std::string row;
        for (Date date = from; date < to; date += std::chrono::days(1))
            row += of_date.contains(date) ? sign(of_date.at(date)) : ' ';
        text +=
            name_cell(survey.deployments[coverage.deployment].name, name_width) + " " + row + "\n";
    }
    return text;
}

/// A character a date, as many dates a block as fit; visits apart.
std::string by_date(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                    std::size_t width) {
    std::set<Date> dates;
    int name_width = 10;
    for (const DeploymentCoverage& coverage : coverages) {
        for (const HourCoverage& hour : coverage.hours) dates.insert(hour.date);
        name_width = std::max(name_width,
                              characters(printable(survey.deployments[coverage.deployment].name)));
    }
    name_width = std::min(name_width, 24);
    const auto named = static_cast<std::size_t>(name_width);
    const auto block =
        std::chrono::days(width > named + 12 ? static_cast<int>(width - named) - 9 : 24);
    std::string text;
    // Dates without any row keep their place, so that a hole in a visit is seen as one.
    for (const auto& stretch : stretches_of(dates))
        for (Date from = stretch.first; from <= stretch.second; from += block)
            text +=
                block_of(survey, coverages, stretch, from,
                         std::min(from + block, stretch.second + std::chrono::days(1)), name_width);
    return text;
}

bool wholly_there(const DeploymentCoverage& coverage) {
    std::map<Date, Minutes> dates;
    for (const HourCoverage& hour : coverage.hours) dates[hour.date].add(hour);
    return !dates.empty() && std::all_of(dates.begin(), dates.end(), [](const auto& date) {
        return sign(date.second) == '#' || sign(date.second) == ' ';
    });
}

/// The deployments that are not wholly there, those that lack most first.
std::string with_holes(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                       std::size_t width) {
    std::vector<DeploymentCoverage> holed;
    for (const DeploymentCoverage& coverage : coverages)
        if (!wholly_there(coverage)) holed.push_back(coverage);
    const std::size_t there = coverages.size() - holed.size();
    std::stable_sort(holed.begin(), holed.end(), [](const auto& a, const auto& b) {
        return a.expected - a.usable > b.expected - b.usable;
    });
    const std::size_t more = holed.size() > kCalendarRows ? holed.size() - kCalendarRows : 0;
    holed.resize(holed.size() - more);
    std::string text = by_date(survey, holed, width);
    if (!text.empty()) text += kLegend;
    if (more > 0) text += list_entry(fmt::format("{} more with holes: --all shows them", more));
    if (there > 0) text += list_entry(counted(there, "deployment") + ": all there");
    return text;
}

/// A row a date, a character an hour.
std::string by_hour(const DeploymentCoverage& coverage) {
    std::map<Date, std::map<int, Minutes>> dates;
    for (const HourCoverage& hour : coverage.hours) dates[hour.date][hour.hour].add(hour);
    std::string text = "             0     6     12    18\n";
    std::size_t shown = 0;
    for (const auto& [date, hours] : dates) {
        if (shown++ == kCalendarDates)
            return text +
                   fmt::format("  and {}: coverage.csv has them all\n",
                               counted(dates.size() - static_cast<std::int64_t>(kCalendarDates),
                                       "more date"));
        std::string row;
        for (int hour = 0; hour < 24; ++hour)
            row += hours.contains(hour) ? sign(hours.at(hour)) : ' ';
        text += fmt::format("  {} {}\n", format_date(date), row);
    }
    return text;
}

}  // namespace

std::string coverage_calendar(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                              bool all, std::size_t width) {
    if (!all) return with_holes(survey, coverages, width);
    std::string text = by_date(survey, coverages, width);
    if (text.empty()) return text;
    text += kLegend;
    for (const DeploymentCoverage& coverage : coverages) {
        const bool holes =
            std::any_of(coverage.hours.begin(), coverage.hours.end(),
                        [](const HourCoverage& hour) { return hour.present < hour.expected / 2; });
        const bool serious =
            std::any_of(coverage.findings.begin(), coverage.findings.end(),
                        [](const Finding& f) { return f.severity == Severity::serious; });
        if (holes && serious && coverage.present > 0)
            text += printable(survey.deployments[coverage.deployment].name) + ", hour by hour:\n" +
                    by_hour(coverage);
    }
    return text;
}

}  // namespace hearwood
