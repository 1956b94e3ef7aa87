// What the indices share: which bins a band holds, band power, levels, entropy.
#pragma once

#include <cmath>
#include <optional>

#include "base/missing.h"
#include "index/segment_summary.h"
#include "spectrum/frequency_grid.h"
#include "survey/settings.h"

namespace hearwood {

inline FrequencyGrid grid_of(const SegmentSummary& s) {
    return {s.sample_rate, s.frame};
}

/// The band's bins; nothing when it is not wholly below fs/2 or holds no bin.
inline std::optional<BinRange> bins_of(const SegmentSummary& s, const Band& band) {
    const FrequencyGrid grid = grid_of(s);
    const BinRange bins = grid.bins_in(band.low_hz, band.high_hz);
    if (!grid.wholly_there(band.high_hz) || bins.count() == 0) return std::nullopt;
    return bins;
}

/// The bins of the analysis range, up to and including N/2 unless the settings end it below; the
/// same rule.
inline std::optional<BinRange> analysis_range(const SegmentSummary& s,
                                              const MeasureSettings& settings) {
    if (settings.range_high_hz)
        return bins_of(s, {"", settings.range_low_hz, *settings.range_high_hz});
    const BinRange bins = grid_of(s).bins_from(settings.range_low_hz);
    if (bins.count() == 0) return std::nullopt;
    return bins;
}

/// Sum of Pbar[k] df over the bins: mean square within the band, FS^2.
inline double band_power(const SegmentSummary& s, const BinRange& bins) {
    double sum = 0;
    for (int k = bins.first; k < bins.last; ++k)
        if (s.counts(k)) sum += s.mean_power[k];
    return sum * grid_of(s).bin_width();
}

/// Level of a mean square in dBFS, a full-scale sine at 0; missing for silence.
inline double level_dbfs(double mean_square) {
    return mean_square > 0 ? 10 * std::log10(2 * mean_square) : kMissing;
}

/// - sum p ln p over the shares p = value / total of `count` values, 0 ln 0 = 0. REQUIRES: total >
/// 0.
template <typename Values>
double entropy(const Values& values, double total) {
    double sum = 0;
    for (const double value : values) {
        const double p = value / total;
        if (p > 0) sum -= p * std::log(p);
    }
    return sum;
}

}  // namespace hearwood
