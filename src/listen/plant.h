// Calls planted on purpose: known calls mixed into copies of quiet segments at known rates and
// levels, and every index measured, to show from what rate and level on each one responds at this
// place. The recordings are only read.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/table.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Calls a minute, and the level of a call against the segment's own in 1 to 8 kHz, dB.
inline constexpr int kPlantRates[] = {0, 1, 2, 4, 8, 16, 32};
inline constexpr int kPlantLevels[] = {0, 10, 20};

struct PlantOptions {
    int segments =
        5;  ///< the quietest kept ones, as they come from different sites as far as possible
    std::string calls;  ///< folder of sounds; empty: three synthetic calls
    std::uint64_t seed = 1;
    bool quiet = false;
};

struct PlantedValue {
    std::string recording;
    int channel = 0, segment = 0;
    int rate = 0, level = 0;
    std::vector<double> values;  ///< parallel to PlantSummary::indices
};

/// Of one index at one level: does it rise with the rate?
struct PlantResponse {
    std::string index;
    int level = 0;
    double rho =
        0;  ///< Spearman of the index's change since rate 0 with the rate, over all segments
    int first_rate = 0;  ///< lowest rate from which on the mean change exceeds the spread between
                         ///< the segments' rate-0 values; 0: none
};

struct PlantSummary {
    std::vector<std::string> indices;
    std::vector<PlantedValue> values;
    std::vector<PlantResponse> responses;
    std::vector<std::string>
        missing;  ///< recordings and calls that could not be read, with the reason
};

/// Errors: as ListeningCandidates; InputError when the folder holds no usable sound.
PlantSummary plant_calls(const Survey& survey, const Store& store, const PlantOptions& options);

/// hearwood/planted.csv of a survey folder: beside the folder that listeners are given, since it
/// tells recordings and values.
std::filesystem::path planted_file(const std::filesystem::path& survey_folder);

TableOf<PlantedValue> planted_table(const std::vector<std::string>& indices);
TableOf<PlantResponse> planted_responses_table();
/// planted_file() and planted_responses.csv beside it.
void write_planting_tables(const Survey& survey, const PlantSummary& summary);

std::string planting_summary(const PlantSummary& summary);

}  // namespace hearwood
