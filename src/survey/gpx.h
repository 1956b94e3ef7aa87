// Waypoints and tracks of a satellite receiver: GPX 1.1 (an open format, topografix.com/GPX/1/1),
// read and written.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

struct Waypoint {
    std::string name;                    ///< may be empty
    double latitude = 0, longitude = 0;  ///< degrees, north and east positive
    std::optional<double> elevation_m;
    std::string time;   ///< as the receiver wrote it, ISO 8601
    std::string notes;  ///< its comment, else its description
};

struct Track {
    std::string name;              ///< may be empty
    std::vector<Waypoint> points;  ///< in the order walked, its segments joined
};

struct Gpx {
    std::vector<Waypoint> waypoints;
    std::vector<Track> tracks;
};

/// Bounds that no day's walk meets. A longer track has to be thinned out first.
inline constexpr std::uint64_t kGpxBytes = 64u << 20;
inline constexpr std::size_t kGpxPoints = 50'000;
inline constexpr int kGpxDepth = 32;

/// Errors: InputError with the line, when it is no such file, has a document type of its own (no
/// GPX file needs one), or is beyond the bounds.
Gpx read_gpx(const std::filesystem::path& path);

/// Metres from the track's beginning to each of its points.
std::vector<double> walked_m(const Track& track);
/// How far along the track the place is nearest to it, and how far from it.
struct AlongTrack {
    double along_m = 0, aside_m = 0;
};
/// REQUIRES a track of at least one point, and its walked_m().
AlongTrack place_on(const Track& track, std::span<const double> walked, double latitude,
                    double longitude);

/// sites.csv of a new survey from the waypoints: names, coordinates, elevation, time and notes;
/// with tracks the nearest one's name and the distance along it. `factor` heads the empty column of
/// the stand class. Errors: InputError when two waypoints have one name or one place, or there is
/// none.
std::string sites_from_waypoints(const Gpx& gpx, const std::string& factor);

/// The sites in the order of a round (trails from their beginning; without trails a short way round
/// from the first site), as indices into Survey::sites.
std::vector<std::size_t> round_trip(const Survey& survey);
/// The sites as waypoints and as a route in that order.
std::string gpx_of_sites(const Survey& survey, std::span<const std::size_t> order);

}  // namespace hearwood
