// One index on even terms under several of them: what `robustness` asks for where the primary
// outcome is on even terms. One reading a level of noise; choirs and bands are read off its
// summary. The results stand in a store of their own, as those of measure_grid().
#pragma once

#include <string>
#include <vector>

#include "aggregate/even_terms.h"
#include "measure/settings_grid.h"

namespace hearwood {

struct EvenGrid {
    std::string index;   ///< one of even_columns()
    std::string window;  ///< in which it is compared
    /// Parallel to the values that each segment gets.
    std::vector<EvenVariant> variants;
    std::vector<MeasureSettings> settings;  ///< they differ in bands and range alone
    /// The survey as its segments may be chosen: whatever one of these has in the window is
    /// measured. What it is heard through stays that of the survey and its window as declared.
    std::vector<Survey> choices;
};

/// Brings `grid` up to date. Memory: sixty bytes a segment of the window, and a bed of noise for
/// each level and site in hand. Errors: as JudgedSegments; InputError when nothing can be compared
/// on even terms; MachineError when `grid` cannot be written.
GridSummary measure_even_grid(const Survey& survey, const Store& measured, Store& grid,
                              const EvenGrid& what, int jobs, bool quiet);

}  // namespace hearwood
