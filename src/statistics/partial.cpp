// How p and the interval are computed. Within blocks, with b the residuals of the tested variable
// and e those of y from the nuisance, permuting e gives t* with t*^2 / (t*^2 + df) = rho,
//     rho_r = (b' P e)^2 / (b'b |R P e|^2),
// R taking the nuisance out. For y - d x the residuals are e - d b. Write d = beta + w h, beta the
// effect, h = sqrt(S / b'b), S the squares that the full model leaves over. With f its residuals,
//     p = b' P f / sqrt(b'b S),  q = b' P b / b'b,
//     A = |R P f|^2 / S,  C = (R P f)' (R P b) / sqrt(b'b S),  D = |R P b|^2 / b'b,
// permutation r reaches the observed t at w where
//     (p - q w)^2 (1 + w^2) - w^2 (A - 2 C w + D w^2) >= 0,
// a quartic that is p^2 >= 0 at w = 0 and falls to -inf or a constant on either side. p(w) is
// counted between the sorted roots of all of them; nothing is searched on a grid.
#include "statistics/partial.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <optional>
#include <set>
#include <utility>

#include "base/missing.h"
#include "statistics/dot.h"
#include "statistics/pair_test.h"
#include "statistics/roots.h"

namespace hearwood {

namespace {

/// Below this a coefficient of the scaled quartic is rounding.
constexpr double kNothing = 1e-12;

using Quartic = std::array<double, 5>;

Quartic mirrored(Quartic quartic) {
    quartic[1] = -quartic[1];
    quartic[3] = -quartic[3];
    return quartic;
}

int sign_far_out(const Quartic& quartic, int side) {
    for (std::size_t power = 5; power-- > 0;) {
        if (quartic[power] == 0) continue;
        const double value = power % 2 == 1 ? side * quartic[power] : quartic[power];
        return value > 0 ? 1 : -1;
    }
    return 0;
}

/// The last w at which a permutation counts.
double last_of(const Quartic& quartic) {
    if (sign_far_out(quartic, 1) >= 0) return kInfinity;
    const SignChanges changes = sign_changes(quartic);
    return changes.count > 0 ? changes.at[static_cast<std::size_t>(changes.count) - 1] : 0;
}

/// It counts at w or later. Mostly a matter of signs, without a root.
bool counts_from(const Quartic& quartic, double w) {
    const bool at_w = value_at(quartic, w) >= 0;
    const int most = most_roots_above(quartic, w);
    if (!at_w && most == 0) return false;
    if (at_w && most == 1) return true;
    return last_of(quartic) >= w;
}

/// The last w of the permutation of that rank (0: the last of all). Moves the quartics about.
double last_of_rank(std::vector<Quartic>& quartics, std::size_t rank) {
    auto from = std::partition(quartics.begin(), quartics.end(), [](const Quartic& quartic) {
        return sign_far_out(quartic, 1) >= 0;
    });
    auto to = quartics.end();
    const auto wanted = quartics.begin() + static_cast<std::ptrdiff_t>(rank);
    if (wanted < from) return kInfinity;
    constexpr std::ptrdiff_t kFew = 32;
    while (to - from > kFew) {
        const Quartic pivot = *(from + (to - from) / 2);
        const double place = last_of(pivot);
        const auto equal = std::partition(from, to, [&](const Quartic& quartic) {
            return quartic != pivot && counts_from(quartic, place);
        });
        const auto smaller =
            std::partition(equal, to, [&](const Quartic& quartic) { return quartic == pivot; });
        if (wanted >= equal && wanted < smaller) return place;
        (wanted < equal ? to : from) = wanted < equal ? equal : smaller;
    }
    std::vector<double> places;
    for (auto quartic = from; quartic != to; ++quartic) places.push_back(last_of(*quartic));
    std::sort(places.begin(), places.end(), std::greater<>());
    return places[static_cast<std::size_t>(wanted - from)];
}

/// The largest w at which more than `most` count: the last w of that rank, if all that count later
/// count there too. Nothing where one does not.
std::optional<double> largest_of_more_than(std::vector<Quartic>& quartics, std::size_t most) {
    const double last = last_of_rank(quartics, most);
    if (std::isinf(last)) return last;
    const bool gap = std::any_of(quartics.begin(), quartics.end(), [last](const Quartic& quartic) {
        return value_at(quartic, last) < 0 && most_roots_above(quartic, last) > 0 &&
               last_of(quartic) > last * (1 + 1e-12);
    });
    return gap ? std::nullopt : std::optional(last);
}

struct Hull {
    double low, high;
};

/// Smallest and largest w at which more than `most` count, through the beginnings and ends of all
/// stretches in order.
Hull swept(const std::vector<Quartic>& quartics, std::size_t most) {
    std::vector<double> begins, ends;
    for (const Quartic& quartic : quartics) {
        const SignChanges roots = sign_changes(quartic);
        bool inside = sign_far_out(quartic, -1) >= 0;
        if (inside) begins.push_back(-kInfinity);
        for (int i = 0; i < roots.count; ++i, inside = !inside)
            (inside ? ends : begins).push_back(roots.at[static_cast<std::size_t>(i)]);
        if (inside) ends.push_back(kInfinity);
    }
    std::sort(begins.begin(), begins.end());
    std::sort(ends.begin(), ends.end());
    std::size_t count = 0, ended = 0;
    Hull hull{kInfinity, -kInfinity};
    for (const double begin : begins) {
        for (; ended < ends.size() && ends[ended] < begin; ++ended)
            if (count-- == most + 1) hull.high = ends[ended];
        if (++count == most + 1) hull.low = std::min(hull.low, begin);
    }
    for (; ended < ends.size(); ++ended)
        if (count-- == most + 1) hull.high = ends[ended];
    return hull;
}

/// A permutation counts where its quartic is at least 0; at w = 0 all do.
Hull hull_of(std::vector<Quartic> quartics, std::size_t most) {
    const auto high = largest_of_more_than(quartics, most);
    for (Quartic& quartic : quartics) quartic = mirrored(quartic);
    const auto low = high ? largest_of_more_than(quartics, most) : std::nullopt;
    if (low) return {-*low, *high};
    for (Quartic& quartic : quartics) quartic = mirrored(quartic);
    return swept(quartics, most);
}

/// The observed order, and those that come to it, give rounding and no quartic; else what is
/// rounding in its coefficients is taken away.
Quartic cleaned(Quartic quartic) {
    const bool nothing = std::all_of(quartic.begin(), quartic.end(),
                                     [](double c) { return std::abs(c) < kNothing; });
    for (std::size_t power = nothing ? 0 : 2; power < quartic.size(); ++power)
        if (std::abs(quartic[power]) < kNothing) quartic[power] = 0;
    return quartic;
}

}  // namespace

/// What one set of values leaves over.
struct PartialTest::Residuals {
    std::vector<double> full;        ///< of nuisance and tested variable
    double effect = 0, squares = 0;  ///< of the full model
    double scale = 0;                ///< squares within blocks
};

void PartialTest::remove_nuisance(std::vector<double>& values) const {
    // Twice, so that what rounding left of a direction goes too.
    for (int pass = 0; pass < 2; ++pass) {
        for (const std::vector<double>& direction : basis_) {
            const double share = dot(direction, values);
            for (std::size_t i = 0; i < values.size(); ++i) values[i] -= share * direction[i];
        }
    }
}

PartialTest::PartialTest(const PartialDesign& design, const Orders& orders)
    : blocks_{{}, design.blocks, 1, design.block_count}, orders_(orders) {
    for (const std::vector<double>& column : design.nuisance) {
        std::vector<double> direction = block_residuals(column, blocks_);
        const double before = dot(direction, direction);
        remove_nuisance(direction);
        const double left = dot(direction, direction);
        if (!(left > 1e-12 * before)) continue;  // told by the others already
        for (double& value : direction) value /= std::sqrt(left);
        basis_.push_back(std::move(direction));
    }
    tested_ = block_residuals(design.tested, blocks_);
    const double before = dot(tested_, tested_);
    remove_nuisance(tested_);
    squares_ = dot(tested_, tested_);
    inflation_ = squares_ > 1e-12 * before ? before / squares_ : kInfinity;
    const int used_blocks =
        static_cast<int>(std::set<int>(design.blocks.begin(), design.blocks.end()).size());
    freedom_ =
        static_cast<int>(design.tested.size()) - used_blocks - static_cast<int>(basis_.size()) - 1;
    permute_tested();
}

PartialTest::Residuals PartialTest::residuals(std::span<const double> values) const {
    Residuals result;
    result.full = block_residuals(values, blocks_);
    result.scale = dot(result.full, result.full);
    remove_nuisance(result.full);
    result.effect = dot(tested_, result.full) / squares_;
    for (std::size_t i = 0; i < result.full.size(); ++i)
        result.full[i] -= result.effect * tested_[i];
    result.squares = dot(result.full, result.full);
    if (result.squares <= 1e-24 * result.scale) result.squares = 0;
    return result;
}

void PartialTest::permute_tested() {
    std::vector<double> permuted(tested_.size());
    of_tested_.reserve(static_cast<std::size_t>(orders_.rows()) * (2 + basis_.size()));
    for (std::int64_t r = 0; r < orders_.rows(); ++r) {
        const std::span<const std::uint16_t> order = orders_.row(r);
        for (std::size_t i = 0; i < permuted.size(); ++i) permuted[i] = tested_[order[i]];
        const std::size_t place = of_tested_.size();
        of_tested_.push_back(dot(tested_, permuted));
        of_tested_.push_back(squares_);  // P keeps lengths
        for (const std::vector<double>& direction : basis_) {
            const double share = dot(direction, permuted);
            of_tested_[place + 1] -= share * share;
            of_tested_.push_back(share);
        }
    }
}

/// b'Pf, |R P f|^2 and (R P f)'(R P b) of one permutation.
struct PartialTest::Products {
    double of_f = 0, ff = 0, fb = 0;
};

PartialTest::Products PartialTest::products(std::int64_t row, const Residuals& of,
                                            std::vector<double>& permuted) const {
    const std::span<const std::uint16_t> order = orders_.row(row);
    for (std::size_t i = 0; i < permuted.size(); ++i) permuted[i] = of.full[order[i]];
    const double* of_b = tested_row(row) + 2;
    Products result{dot(tested_, permuted), of.squares, 0};  // f'b is 0
    for (const std::vector<double>& direction : basis_) {
        const double share = dot(direction, permuted);
        result.ff -= share * share;
        result.fb -= share * *of_b++;
    }
    return result;
}

double PartialTest::t(double product, double squares, double scale) const {
    const double explained = product * product / squares_;
    const double rest = squares - explained;
    if (rest <= 1e-14 * scale) return explained > 1e-14 * scale ? kInfinity : 0;
    return std::sqrt(explained / (rest / freedom_));
}

PartialResult PartialTest::test(std::span<const double> values, std::optional<double> level) const {
    const Residuals of = residuals(values);
    const double beta = of.effect, both = std::sqrt(squares_ * of.squares);
    const double observed = t(beta * squares_, of.squares + beta * beta * squares_, of.scale);
    const bool with_interval = level && of.squares > 0;
    std::int64_t hits = 0;
    std::vector<Quartic> quartics;
    if (with_interval) quartics.reserve(static_cast<std::size_t>(orders_.rows()));
    std::vector<double> permuted(values.size());
    for (std::int64_t r = 0; r < orders_.rows(); ++r) {
        const Products f = products(r, of, permuted);
        const double of_b = tested_row(r)[0], bb = tested_row(r)[1];
        const double squares = f.ff + 2 * beta * f.fb + beta * beta * bb;
        hits += t(f.of_f + beta * of_b, squares, of.scale) >= observed * (1 - 1e-9);
        if (!with_interval) continue;
        const double p = f.of_f / both, q = of_b / squares_;
        const double a = f.ff / of.squares, c = f.fb / both, d = bb / squares_;
        quartics.push_back(
            cleaned({p * p, -2 * p * q, p * p + q * q - a, 2 * c - 2 * p * q, q * q - d}));
    }
    const double rows = static_cast<double>(orders_.rows());
    PartialResult result{beta, std::copysign(observed, beta), static_cast<double>(hits) / rows,
                         beta, beta};
    if (!with_interval) return result;
    const auto most =
        static_cast<std::size_t>(std::min(std::floor((1 - *level) * rows + 1e-9), rows - 1));
    const Hull hull = hull_of(std::move(quartics), most);
    const double step = std::sqrt(of.squares / squares_);
    result.ci_low = beta + step * hull.low;
    result.ci_high = beta + step * hull.high;
    return result;
}

}  // namespace hearwood
