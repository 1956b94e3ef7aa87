// Everything survey.toml can say, as plain data with its defaults. The stages further down take the
// struct they need and know nothing of the file. Frequencies in hertz, times in seconds unless the
// name says more.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace hearwood {

/// [low_hz, high_hz): a bin k is inside when low_hz <= k * fs / N < high_hz.
struct Band {
    std::string name;
    double low_hz = 0;
    double high_hz = 0;
    bool operator==(const Band&) const = default;
};

/// [measure] and [bands]: what the numbers of a segment depend on (docs/measures.md, section 1).
struct MeasureSettings {
    double segment_s = 60;
    int frame = 512;
    int hop = 512;
    double range_low_hz = 200;
    std::optional<double> range_high_hz;  ///< nothing: half the sample rate, that bin included
    double step_s = 5;
    Band anthrophony{"anthrophony", 1000, 2000};
    Band biophony{"biophony", 2000, 8000};
    std::vector<Band> bands;  ///< named by the survey, in the file's order
    bool operator==(const MeasureSettings&) const = default;
};

/// An end of a window: a clock time, or minutes from an event of the sun.
struct WindowEdge {
    enum class Anchor { clock, sunrise, sunset };
    Anchor anchor = Anchor::clock;
    int minutes = 0;  ///< from local midnight for clock, else from the event
    bool operator==(const WindowEdge&) const = default;
};

/// A named part of the day, [from, to). Where windows overlap the first in the list has the
/// segment.
struct Window {
    std::string name;
    WindowEdge from, to;
    bool operator==(const Window&) const = default;
};

/// [stands]
struct StandSettings {
    std::string factor;            ///< column of sites.csv
    std::string class_a, class_b;  ///< compare = [A, B]: the difference is A minus B
    std::string block;             ///< column of sites.csv; empty: no blocks
    double listening_distance_m =
        250;  ///< nearer than this two recorders may hear the same animals (common practice)
    /// Columns of the sheets that make the stand: the audit shows them as its description.
    std::vector<std::string> part_of_stand;
};

/// [contrast]
struct ContrastSettings {
    std::string primary_index, primary_window;  ///< both empty: none declared
    std::uint64_t seed = 1;
    double level = 0.95;
};

}  // namespace hearwood
