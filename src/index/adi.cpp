// Acoustic diversity: entropy of the shares of loud cells over ten bands (Villanueva-Rivera et al.
// 2011).
#include "index/definition.h"
#include "index/diversity.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const MeasureSettings&) {
    const std::vector<double> shares = loud_shares(s);
    if (shares.empty()) return kMissing;
    double total = 0;
    for (const double q : shares) total += q;
    return entropy(shares, total);
}

}  // namespace

Definition adi_definition() {
    return {{"adi", "1", Column::Kind::index, "acoustic diversity index",
             "Entropy of the shares of cells above -50 dBFS in the 1 kHz bands from 0 to 10 kHz; "
             "at most ln 10.",
             "Villanueva-Rivera et al. 2011", true},
            value};
}

}  // namespace hearwood
