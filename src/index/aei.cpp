// Acoustic evenness: Gini coefficient of the shares of loud cells over ten bands (Villanueva-Rivera
// et al. 2011).
#include "index/definition.h"
#include "index/diversity.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const MeasureSettings&) {
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

}  // namespace

Definition aei_definition() {
    return {{"aei", "1", Column::Kind::index, "acoustic evenness index",
             "Gini coefficient of the shares of cells above -50 dBFS in the 1 kHz bands from 0 to "
             "10 kHz; 0 when "
             "all bands are alike, towards 1 when one has all.",
             "Villanueva-Rivera et al. 2011", true},
            value};
}

}  // namespace hearwood
