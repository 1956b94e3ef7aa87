// From waypoints to sites, and from sites to the way round.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <tuple>

#include "base/csv_cell.h"
#include "base/error.h"
#include "base/text.h"
#include "survey/geography.h"
#include "survey/gpx.h"

namespace hearwood {

namespace {

constexpr std::size_t kMostWaypoints = 2000;
constexpr double kRadian = std::numbers::pi / 180;
constexpr double kEarthRadius_m = 6'371'008.8;

/// Metres east and north of a place near by, where the earth is flat enough.
std::pair<double, double> metres_from(const Waypoint& origin, double latitude, double longitude) {
    double east = longitude - origin.longitude;
    east -= 360 * std::round(east / 360);
    return {east * kRadian * kEarthRadius_m * std::cos(origin.latitude * kRadian),
            (latitude - origin.latitude) * kRadian * kEarthRadius_m};
}

void refuse_twins(const std::vector<Waypoint>& waypoints) {
    std::map<std::string, int> names;
    std::map<std::pair<double, double>, std::string> places;
    for (const Waypoint& point : waypoints) {
        if (++names[point.name] == 2)
            throw InputError(fmt::format("two waypoints are called '{}'", printable(point.name)),
                             "rename one on the receiver, and export again");
        const auto [there, fresh] =
            places.emplace(std::pair(point.latitude, point.longitude), point.name);
        if (!fresh)
            throw InputError(fmt::format("the waypoints '{}' and '{}' lie at one place",
                                         printable(there->second), printable(point.name)),
                             "two sites at one place are one replicate: take one out");
    }
}

/// The way round through all sites: each time the nearest one next, then crossings taken out
/// (2-opt) until none is left.
std::vector<std::size_t> short_way(const Survey& survey) {
    const std::size_t count = survey.sites.size();
    const auto metres = [&](std::size_t a, std::size_t b) {
        const Site &one = survey.sites[a], &other = survey.sites[b];
        return distance_m(one.latitude, one.longitude, other.latitude, other.longitude);
    };
    std::vector<std::size_t> order(count);
    for (std::size_t i = 0; i < count; ++i) order[i] = i;
    for (std::size_t i = 1; i < count; ++i)
        std::iter_swap(order.begin() + static_cast<std::ptrdiff_t>(i),
                       std::min_element(order.begin() + static_cast<std::ptrdiff_t>(i), order.end(),
                                        [&](std::size_t a, std::size_t b) {
                                            return std::tuple(metres(order[i - 1], a), a) <
                                                   std::tuple(metres(order[i - 1], b), b);
                                        }));
    bool shorter = count > 3;
    for (std::size_t rounds = 0; shorter && rounds < count; ++rounds) {
        shorter = false;
        for (std::size_t i = 0; i + 2 < count; ++i)
            for (std::size_t j = i + 2; j < count; ++j) {
                const std::size_t after = order[(j + 1) % count];
                if (after == order[i]) continue;
                const double saved = metres(order[i], order[i + 1]) + metres(order[j], after) -
                                     metres(order[i], order[j]) - metres(order[i + 1], after);
                if (saved <= 0.01) continue;
                std::reverse(order.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                             order.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                shorter = true;
            }
    }
    return order;
}

std::string point_xml(const char* element, const Site& site, const Survey& survey) {
    std::string xml = fmt::format("  <{} lat=\"{}\" lon=\"{}\">", element,
                                  format_number(site.latitude), format_number(site.longitude));
    if (const auto elevation = number_in(site, survey, "elevation_m"))
        xml += fmt::format("<ele>{}</ele>", format_number(*elevation));
    return xml + fmt::format("<name>{}</name></{}>\n", escape_html(site.name), element);
}

}  // namespace

std::vector<double> walked_m(const Track& track) {
    std::vector<double> walked;
    double metres = 0;
    for (std::size_t i = 0; i < track.points.size(); ++i) {
        const Waypoint& before = track.points[i > 0 ? i - 1 : 0];
        const Waypoint& here = track.points[i];
        metres += distance_m(before.latitude, before.longitude, here.latitude, here.longitude);
        walked.push_back(metres);
    }
    return walked;
}

AlongTrack place_on(const Track& track, std::span<const double> walked, double latitude,
                    double longitude) {
    AlongTrack best{0, std::numeric_limits<double>::infinity()};
    for (std::size_t i = 0; i < track.points.size(); ++i) {
        const Waypoint& here = track.points[i];
        const Waypoint& next = track.points[std::min(i + 1, track.points.size() - 1)];
        const auto [x, y] = metres_from(here, latitude, longitude);
        const auto [dx, dy] = metres_from(here, next.latitude, next.longitude);
        const double length = std::hypot(dx, dy);
        const double share =
            length > 0 ? std::clamp((x * dx + y * dy) / (length * length), 0.0, 1.0) : 0;
        const double aside = std::hypot(x - share * dx, y - share * dy);
        if (aside < best.aside_m) best = {walked[i] + share * length, aside};
    }
    return best;
}

std::string sites_from_waypoints(const Gpx& gpx, const std::string& factor) {
    std::vector<Waypoint> waypoints = gpx.waypoints;
    if (waypoints.size() > kMostWaypoints)
        throw InputError(
            fmt::format("{} waypoints in it", grouped(waypoints.size())),
            fmt::format("export those of the sites alone, {} at most", grouped(kMostWaypoints)));
    if (waypoints.empty())
        throw InputError("there is no waypoint in it",
                         "mark each site on the receiver, and export waypoints, not tracks alone");
    for (std::size_t i = 0; i < waypoints.size(); ++i)
        if (waypoints[i].name.empty()) waypoints[i].name = fmt::format("waypoint-{}", i + 1);
    refuse_twins(waypoints);
    std::vector<std::vector<double>> walked;
    for (const Track& track : gpx.tracks) walked.push_back(walked_m(track));
    std::string csv = csv_line({"site", "latitude", "longitude", factor, "elevation_m", "trail",
                                "trail_m", "waypoint_time", "notes"});
    for (const Waypoint& point : waypoints) {
        const Track* nearest_track = nullptr;
        AlongTrack place;
        for (std::size_t t = 0; t < gpx.tracks.size(); ++t) {
            const AlongTrack here =
                place_on(gpx.tracks[t], walked[t], point.latitude, point.longitude);
            if (nearest_track && here.aside_m >= place.aside_m) continue;
            nearest_track = &gpx.tracks[t];
            place = here;
        }
        csv += csv_line({point.name, format_number(point.latitude), format_number(point.longitude),
                         "", point.elevation_m ? format_number(*point.elevation_m) : "",
                         nearest_track ? nearest_track->name : "",
                         nearest_track ? fmt::format("{:.0f}", place.along_m) : "", point.time,
                         point.notes});
    }
    return csv;
}

std::vector<std::size_t> round_trip(const Survey& survey) {
    std::vector<std::size_t> order(survey.sites.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::vector<std::pair<std::string, double>> along;
    for (const Site& site : survey.sites) {
        const std::string trail(cell_in(site, survey, "trail"));
        const auto metres = number_in(site, survey, "trail_m");
        if (trail.empty() || !metres) return short_way(survey);
        along.emplace_back(trail, *metres);
    }
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return along[a] < along[b]; });
    return order;
}

std::string gpx_of_sites(const Survey& survey, std::span<const std::size_t> order) {
    std::string xml =
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
        "<gpx version=\"1.1\" creator=\"Hearwood\" "
        "xmlns=\"http://www.topografix.com/GPX/1/1\">\n";
    for (const std::size_t site : order) xml += point_xml("wpt", survey.sites[site], survey);
    xml += fmt::format("  <rte><name>{}</name>\n", escape_html(survey.title));
    for (const std::size_t site : order)
        xml += "  " + point_xml("rtept", survey.sites[site], survey);
    return xml + "  </rte>\n</gpx>\n";
}

}  // namespace hearwood
