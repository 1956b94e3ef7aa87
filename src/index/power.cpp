// Level of a named band.
#include "index/definition.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const Band& band) {
    const auto bins = bins_of(s, band);
    return bins ? level_dbfs(band_power(s, *bins)) : kMissing;
}

}  // namespace

BandDefinition power_band_definition() {
    return {{"power_NAME_dbfs", "dBFS", Column::Kind::index, "level, NAME",
             "Level of the mean power in the band NAME, a full-scale sine at 0 dBFS.",
             "Welch's estimate of the spectrum, own level convention", true},
            value};
}

}  // namespace hearwood
