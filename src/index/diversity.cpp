// Diversity and evenness of ten bands of 1 kHz, by their shares of loud cells (Villanueva-Rivera et
// al. 2011).
#include <vector>

#include "index/bins.h"
#include "index/indices.h"

namespace hearwood {
namespace {

/// Per band [b, b+1) kHz, b = 0..9, that ends at or below fs/2: the share of its cells (bins x
/// frames) above -50 dBFS. Empty when there is no such band, when a band holds no bin, or when no
/// cell is loud: the indices are then missing.
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

}  // namespace

double indices::adi(const SegmentSummary& s, const MeasureSettings&) {
    const std::vector<double> shares = loud_shares(s);
    if (shares.empty()) return kMissing;
    double total = 0;
    for (const double q : shares) total += q;
    return entropy(shares, total);
}

/// Gini coefficient.
double indices::aei(const SegmentSummary& s, const MeasureSettings&) {
    const std::vector<double> shares = loud_shares(s);
    if (shares.empty()) return kMissing;
    double differences = 0, total = 0;
    for (const double a : shares) {
        total += a;
        for (const double b : shares) differences += std::abs(a - b);
    }
    // 2 n^2 mean(q) = 2 n sum(q)
    return differences / (2 * static_cast<double>(shares.size()) * total);
}

}  // namespace hearwood
