// One index under several settings, in one read of each recording: what `robustness` asks for. The
// results stand in a store of their own, so that a stopped run goes on and a later one does only
// what is new.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct SettingsGrid {
    std::string index;  ///< a column of index_columns() under every one of the settings
    /// segment_s alike in all of them. Those that differ only in bands and range share a transform.
    std::vector<MeasureSettings> settings;
};

struct GridSummary {
    std::int64_t measured = 0, unchanged = 0;  ///< recordings
    std::int64_t failed = 0;                   ///< could not be opened now
    bool interrupted = false;
};

/// Drops results of other settings than these.
void keep_grid_settings(Store& grid, const StoredSettings& settings);
/// Puts the results of a recording in the place of those that are there, `hash` as its settings.
void replace_grid_rows(Store& grid, RecordingRow row, const std::string& hash,
                       const std::vector<MeasuredSegment>& segments);

/// Brings `grid` up to date with the recordings that `measured` (the survey's store) has results
/// of. A segment's values in `grid` are parallel to the settings; its columns are "0", "1" ...
/// Results of another grid are dropped first. Errors: MachineError when `grid` cannot be written.
GridSummary measure_grid(const Survey& survey, const Store& measured, Store& grid,
                         const SettingsGrid& what, int jobs, bool quiet);

}  // namespace hearwood
