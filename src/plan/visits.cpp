#include "plan/visits.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "base/lines.h"
#include "base/text.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

using std::chrono::days;
using std::chrono::local_days;

local_days date_of(LocalTime time) {
    return std::chrono::floor<days>(time);
}

constexpr int kNames = 26;  // columns for a site's name: the line has 80

/// A visit of years is a slip, and would make a table of millions of rows.
constexpr days kLongestVisit{3660};

std::optional<Visit> visit_of(const Survey& survey, std::size_t site,
                              std::optional<std::size_t> deployment, std::optional<local_days> from,
                              int length) {
    Visit visit{site, deployment, {}, {}};
    std::optional<LocalTime> start, end;
    if (deployment) {
        start = survey.deployments[*deployment].start;
        end = survey.deployments[*deployment].end;
    }
    // The end itself is outside: taken in at midnight, the last date is the one before.
    const bool ends = end.has_value();
    const auto last =
        end ? date_of(*end - std::chrono::milliseconds(1)) : std::chrono::local_days{};
    if (start)
        visit.first = date_of(*start);
    else if (from && (!ends || *from <= last))
        visit.first = *from;
    else if (ends)
        visit.first = last - days(length - 1);
    else
        return {};
    visit.last = ends ? last : visit.first + days(length - 1);
    visit.last = std::clamp(visit.last, visit.first, visit.first + kLongestVisit);
    return visit;
}

const char* state_name(SunTimes::State state) {
    switch (state) {
        case SunTimes::State::rises_and_sets:
            return "rises_and_sets";
        case SunTimes::State::always_up:
            return "always_up";
        case SunTimes::State::always_down:
            return "always_down";
    }
    return "";
}

/// Every date on which the site has a visit, once.
std::set<local_days> dates_of(const std::vector<Visit>& visits, std::size_t site) {
    std::set<local_days> dates;
    for (const Visit& visit : visits)
        if (visit.site == site)
            for (local_days date = visit.first; date <= visit.last; date += days(1))
                dates.insert(date);
    return dates;
}

std::string iso_second(const std::optional<Instant>& instant, const Zone& zone) {
    if (!instant) return "";
    return format_iso(std::chrono::round<std::chrono::seconds>(*instant), zone);
}

std::string sun_of(const DayParts& parts, std::size_t site, local_days date) {
    const SunTimes sun = parts.sun(site, date);
    if (sun.state == SunTimes::State::always_up) return "up all day  ";
    if (sun.state == SunTimes::State::always_down) return "down all day";
    return nearest_minute(sun.sunrise, parts.zone()) + "  " +
           nearest_minute(sun.sunset, parts.zone());
}

}  // namespace

std::vector<Visit> visits_of(const Survey& survey, std::optional<local_days> from, int length,
                             std::vector<std::string>& undated) {
    std::vector<Visit> visits;
    for (std::size_t site = 0; site < survey.sites.size(); ++site) {
        bool any = false;
        const auto add = [&](std::optional<std::size_t> deployment, const std::string& name) {
            any = true;
            if (const auto visit = visit_of(survey, site, deployment, from, length))
                visits.push_back(*visit);
            else
                undated.push_back(name);
        };
        for (std::size_t d = 0; d < survey.deployments.size(); ++d)
            if (survey.deployments[d].site == site) add(d, survey.deployments[d].name);
        if (!any) add({}, survey.sites[site].name);
    }
    return visits;
}

std::string nearest_minute(const std::optional<Instant>& instant, const Zone& zone) {
    if (!instant) return "-";
    return format_clock(zone.to_local(*instant + std::chrono::seconds(30)).time);
}

TableOf<SunLine> sun_times_table(const Survey& survey) {
    const Zone zone = Zone::named(survey.time_zone);
    const auto moment = [zone](std::optional<Instant> SunLine::*member) {
        return [zone, member](const SunLine& l) { return iso_second(l.*member, zone); };
    };
    return TableOf<SunLine>("sun-times.csv", "sun times", "A row is a site and a date.")
        .column("site", "", "recording site",
                [&](const SunLine& l) { return survey.sites[l.site].name; })
        .column("date", "", "local date", [](const SunLine& l) { return format_date(l.date); })
        .column("sunrise", "", "ISO 8601 with its offset; empty: the sun does not rise",
                moment(&SunLine::sunrise))
        .column("sunset", "", "the same of sunset", moment(&SunLine::sunset))
        .column("dawn_from", "", "begin of the window 'dawn'; empty: there is none",
                moment(&SunLine::dawn_from))
        .column("dawn_to", "", "its end", moment(&SunLine::dawn_to))
        .column("state", "", "rises_and_sets, always_up or always_down",
                [](const SunLine& l) { return state_name(l.state); });
}

void write_sun_times(const Survey& survey, const std::vector<Visit>& visits,
                     const std::filesystem::path& path) {
    TableFile<SunLine> table(sun_times_table(survey), path);
    const DayParts parts(survey);
    const auto dawn = window_named(survey.windows, "dawn");
    for (std::size_t site = 0; site < survey.sites.size(); ++site)
        for (const local_days date : dates_of(visits, site)) {
            const SunTimes sun = parts.sun(site, date);
            SunLine line{site, date, sun.sunrise, sun.sunset, {}, {}, sun.state};
            if (const auto span = dawn ? parts.span(site, date, *dawn) : std::nullopt) {
                line.dawn_from = span->from;
                line.dawn_to = span->to;
            }
            table.add(line);
        }
    table.commit();
}

std::string sun_text(const Survey& survey, const std::vector<Visit>& visits) {
    std::string text;
    const DayParts parts(survey);
    for (std::size_t site = 0; site < survey.sites.size(); ++site) {
        const auto dates = dates_of(visits, site);
        if (dates.empty()) continue;
        text += fmt::format("  {} {}  {}",
                            left(cut(printable(survey.sites[site].name), kNames), kNames),
                            format_date(*dates.begin()), sun_of(parts, site, *dates.begin()));
        if (dates.size() > 1)
            text += fmt::format("   {}  {}", format_date(*dates.rbegin()),
                                sun_of(parts, site, *dates.rbegin()));
        text += "\n";
    }
    return text;
}

}  // namespace hearwood
