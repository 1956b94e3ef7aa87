#include "contrast/timed_sheet.h"

#include <algorithm>
#include <array>
#include <iterator>
#include <map>
#include <set>
#include <utility>

namespace hearwood {

namespace {

using OutcomeName = std::pair<std::string, std::string>;  ///< index and window
using Lines = std::vector<const SheetValue*>;

/// Lines of each outcome, in the order of first appearance.
std::vector<std::pair<OutcomeName, Lines>> by_outcome(const Lines& lines) {
    std::vector<std::pair<OutcomeName, Lines>> groups;
    std::map<OutcomeName, std::size_t> places;
    for (const SheetValue* line : lines) {
        const OutcomeName name(line->value.index, line->value.window);
        const auto [place, fresh] = places.emplace(name, groups.size());
        if (fresh) groups.push_back({name, {}});
        groups[place->second].second.push_back(line);
    }
    return groups;
}

bool several_lines_a_site(const Lines& lines) {
    std::set<std::array<std::string, 4>> seen;
    return std::any_of(lines.begin(), lines.end(), [&](const SheetValue* line) {
        const SiteValue& value = line->value;
        return !seen.insert({value.index, value.window, value.unit.site, line->season}).second;
    });
}

/// Dates and cells tell no more than the season does: no site can be lost to the model.
bool one_time_a_season(const Lines& lines) {
    std::set<std::string> seasons;
    std::set<std::array<std::string, 3>> times;
    for (const SheetValue* line : lines) {
        seasons.insert(line->season);
        times.insert({line->season, line->date, line->cell});
    }
    return times.size() == seasons.size();
}

/// Values of sites by the model, of dates and cells or of seasons alone; what it says of each goes
/// into `timed`, if wanted.
std::vector<SiteValue> modelled(const Lines& lines, bool by_date, std::vector<TimedRow>* timed) {
    std::vector<SiteValue> values;
    for (const auto& [name, of_outcome] : by_outcome(lines)) {
        std::map<std::string, Unit> units;
        std::vector<DatedValue> rows;
        for (const SheetValue* line : of_outcome) {
            const Unit& unit = line->value.unit;
            units.emplace(unit.site, unit);
            const bool dated = by_date && !line->date.empty();
            rows.push_back({unit.site, dated ? line->date : line->season,
                            by_date ? line->cell : std::string(), unit.value});
        }
        for (TimedSite& site : timed_site_values(rows)) {
            Unit unit = units.at(site.site);
            unit.value = site.value;
            values.push_back({name.first, name.second, unit});
            if (timed) timed->push_back({name.first, name.second, std::move(site)});
        }
    }
    return values;
}

std::vector<SiteValue> own_values(const Lines& lines) {
    std::vector<SiteValue> values;
    values.reserve(lines.size());
    for (const SheetValue* line : lines) values.push_back(line->value);
    return values;
}

std::vector<std::string> seasons_in_order(const Lines& lines) {
    std::map<std::string, std::string> first;  // date of each season
    for (const SheetValue* line : lines) {
        const auto [place, fresh] = first.emplace(line->season, line->date);
        if (!fresh) place->second = std::min(place->second, line->date);
    }
    first.erase("");
    std::vector<std::pair<std::string, std::string>> dated;
    for (const auto& [season, date] : first) dated.emplace_back(date, season);
    std::sort(dated.begin(), dated.end());
    std::vector<std::string> seasons;
    for (const auto& [date, season] : dated) seasons.push_back(season);
    if (seasons.size() < 2) seasons.clear();
    return seasons;
}

}  // namespace

SheetAnswer answer_of(std::span<const SheetValue> lines) {
    Lines all;
    bool dates = false, cells = false;
    for (const SheetValue& line : lines) {
        all.push_back(&line);
        dates = dates || !line.date.empty();
        cells = cells || !line.cell.empty();
    }
    const bool timed = (dates && cells) ||
                       ((dates || cells) && (several_lines_a_site(all) || one_time_a_season(all)));
    SheetAnswer answer;
    answer.seasons = seasons_in_order(all);
    if (timed)
        answer.values = modelled(all, true, &answer.timed);
    else
        answer.values = answer.seasons.empty() ? own_values(all) : modelled(all, false, nullptr);
    for (const std::string& season : answer.seasons) {
        Lines of_season;
        std::copy_if(all.begin(), all.end(), std::back_inserter(of_season),
                     [&](const SheetValue* line) { return line->season == season; });
        for (SiteValue& value : timed ? modelled(of_season, true, nullptr) : own_values(of_season))
            answer.by_season.push_back({season, std::move(value)});
    }
    return answer;
}

TableOf<TimedRow> site_values_table() {
    using Row = TimedRow;
    const auto of_site = [](auto TimedSite::*member) {
        return [member](const Row& row) { return row.site.*member; };
    };
    return TableOf<Row>("site_values.csv", "values of sites",
                        "A row is a site, an index and a window: its value by the additive model.")
        .column("site", "", "the site", of_site(&TimedSite::site))
        .column("index", "", "what was measured", &Row::index)
        .column("window", "", "part of the day", &Row::window)
        .column("value", "", "what the site would show had it been recorded whenever any was",
                of_site(&TimedSite::value))
        .column("cells", "1", "occupied cells of the site", of_site(&TimedSite::cells))
        .column("leans", "1",
                "variance of the site's distance from the mean of all sites, over what it would be "
                "had every site every date and cell",
                of_site(&TimedSite::leans))
        .column("reason", "", "why there is no value", of_site(&TimedSite::reason));
}

}  // namespace hearwood
