#include "report/page_pitch.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "survey/day_part.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using Json = nlohmann::ordered_json;

/// Three digits: more than a colour can show.
Json three_digits(double value) {
    if (!std::isfinite(value)) return nullptr;
    if (value == 0) return 0;
    const double scale = std::pow(10, 2 - std::floor(std::log10(std::abs(value))));
    return std::round(value * scale) / scale;
}

Json tests_of(const PatternResults& pitch) {
    Json json{{"difference", Json::array()},
              {"p", Json::array()},
              {"cluster", Json::array()},
              {"cluster_p", Json::array()}};
    for (const DayPitchResult& cell : pitch.day_pitch) {
        json["difference"].push_back(three_digits(cell.difference));
        json["p"].push_back(three_digits(cell.p_adjusted));
        json["cluster"].push_back(cell.cluster);
        json["cluster_p"].push_back(three_digits(cell.cluster_p));
    }
    return json;
}

}  // namespace

Json pitch_json(const Page& page) {
    const Patterns& seen = page.contrast.beside.cells;
    const PatternResults& pitch = page.contrast.beside.patterns;
    if (!page.refused.empty() || seen.cells.empty())
        return {{"words", "Nothing is compared by hour and pitch here, so there is no picture."}};
    Json json{{"words", patterns_in_words(pitch, page.contrast.plan)}};
    if (pitch.sites.empty()) return json;
    json["cells"] = Json::array();
    for (const PatternCell& cell : seen.cells)
        json["cells"].push_back({cell.hour, cell.low_hz, cell.high_hz});
    json["sites"] = Json::array();
    for (std::size_t s = 0; s < seen.sites.size(); ++s) {
        const std::string& name = seen.sites[s].site;
        if (std::find(pitch.sites.begin(), pitch.sites.end(), name) == pitch.sites.end()) continue;
        Json values = Json::array();
        for (const std::vector<double>& row : seen.values) values.push_back(three_digits(row[s]));
        json["sites"].push_back({{"name", name}, {"values", std::move(values)}});
    }
    json["tests"] = pitch.day_pitch.empty() ? Json(nullptr) : tests_of(pitch);
    return json;
}

SunMinutes sun_minutes(const Page& page) {
    SunMinutes sun;
    const auto& rows = page.values.site_hours;
    if (rows.empty()) return sun;
    std::vector<Date> dates;
    for (const DateMean& row : rows) dates.push_back(row.date);
    const auto middle = dates.begin() + static_cast<std::ptrdiff_t>(dates.size() / 2);
    std::nth_element(dates.begin(), middle, dates.end());
    const DayParts parts(page.survey);
    const SunTimes times = parts.sun(rows.front().site, *middle);
    const auto minutes = [&](const std::optional<Instant>& event) {
        if (!event) return kMissing;
        const auto since = parts.zone().to_local(*event).time - *middle;
        return std::round(std::chrono::duration<double, std::ratio<60>>(since).count());
    };
    sun.rise = minutes(times.sunrise);
    sun.set = minutes(times.sunset);
    return sun;
}

Json window_spans(const Page& page, const SunMinutes& sun) {
    const auto minute = [&](const WindowEdge& edge) -> Json {
        const double event = edge.anchor == WindowEdge::Anchor::clock     ? 0
                             : edge.anchor == WindowEdge::Anchor::sunrise ? sun.rise
                                                                          : sun.set;
        if (is_missing(event)) return nullptr;
        return event + edge.minutes;
    };
    Json list = Json::array();
    for (const Window& window : page.survey.windows)
        list.push_back(
            {{"name", window.name}, {"from", minute(window.from)}, {"to", minute(window.to)}});
    return list;
}

Json named_bands(const Survey& survey) {
    Json list = Json::array();
    for (const Band& band : survey.measure.bands)
        list.push_back({{"name", band.name}, {"low", band.low_hz}, {"high", band.high_hz}});
    return list;
}

}  // namespace hearwood
