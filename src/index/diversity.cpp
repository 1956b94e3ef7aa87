#include "index/diversity.h"

#include "index/definition.h"

namespace hearwood {

std::vector<double> loud_shares(const SegmentSummary& s) {
    constexpr int kMostBands = 10;
    constexpr double kWidthHz = 1000;
    std::vector<double> shares;
    bool any_loud = false;
    for (int b = 0; b < kMostBands; ++b) {
        const Band band{"", b * kWidthHz, (b + 1) * kWidthHz};
        if (!grid_of(s).wholly_there(band.high_hz)) break;
        const auto bins = bins_of(s, band);
        if (!bins) return {};
        double loud = 0;
        for (int k = bins->first; k < bins->last; ++k) loud += s.loud_cells[k];
        shares.push_back(loud / bins->count() / s.frames);
        any_loud = any_loud || loud > 0;
    }
    if (!any_loud) return {};
    return shares;
}

}  // namespace hearwood
