// Whole patterns of sites (hour x band): composition, where in the day and in pitch
// (composition.csv, ordination.csv, day_pitch.csv).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "base/table.h"
#include "contrast/contrast.h"
#include "statistics/composition.h"
#include "statistics/day_pitch.h"

namespace hearwood {

/// What stands out at a site in one hour and band, as a share or any other number.
struct PatternCell {
    int hour = 0;  ///< 0 .. 23
    double low_hz = 0, high_hz = 0;
    bool operator<(const PatternCell& other) const;
};

/// Sites and their numbers cell by cell.
struct Patterns {
    std::vector<Unit> sites;                  ///< sorted by site; their values are not used
    std::vector<PatternCell> cells;           ///< sorted
    std::vector<std::vector<double>> values;  ///< values[cell][site], NaN where a site lacks it
};

/// Columns site, class, hour, low_hz, high_hz, value and optionally block, in any order; a row a
/// site and cell. Errors: InputError with every problem.
Patterns read_patterns(const std::filesystem::path& path);

struct PatternResults {
    Composition composition;
    std::vector<std::string> sites;          ///< of the composition's axes
    std::vector<std::string> missing_sites;  ///< of the two classes, without any value
    std::vector<PatternCell> cells;          ///< all of them
    std::vector<DayPitchResult> day_pitch;   ///< parallel; empty where no map can be drawn
    int cells_left_out = 0;                  ///< missing at a site that takes part
    double level = 0.95;
    std::string reason;     ///< why nothing was computed; else empty
    std::string no_map;     ///< why there is no map; else empty
    std::string qualifier;  ///< what qualifies F, a sentence; else empty
};

/// The declared pair; other classes and blocks with one class take no part. `threshold` is the abs
/// t above which cells form clusters.
PatternResults contrast_patterns(const Patterns& patterns, const ContrastPlan& plan,
                                 double threshold = 2);

/// Rows of ordination.csv and day_pitch.csv.
struct OrdinationRow {
    std::string site;
    double axis_1 = 0, axis_2 = 0;
};
struct DayPitchRow {
    PatternCell cell;
    DayPitchResult result;
};
TableOf<PatternResults> composition_table();
TableOf<OrdinationRow> ordination_table();
TableOf<DayPitchRow> day_pitch_table();
std::vector<OrdinationRow> ordination_rows(const PatternResults& results);
std::vector<DayPitchRow> day_pitch_rows(const PatternResults& results);

std::string composition_csv(const PatternResults& results);
std::string ordination_csv(const PatternResults& results);
std::string day_pitch_csv(const PatternResults& results);

/// What the three tables say, in sentences that claim no edge and no cause.
std::string patterns_in_words(const PatternResults& results, const ContrastPlan& plan);

}  // namespace hearwood
