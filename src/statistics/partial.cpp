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
#include <limits>

#include "statistics/dot.h"
#include "statistics/roots.h"

namespace hearwood {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Below this a coefficient of the scaled quartic is rounding.
constexpr double kNothing = 1e-12;

/// How many of all permutations count at each w, from -inf to inf.
class Counter {
  public:
    explicit Counter(std::int64_t rows) {
        low_.reserve(static_cast<std::size_t>(rows));
        high_.reserve(static_cast<std::size_t>(rows));
    }

    /// The permutation counts where the quartic is at least 0; at w = 0 it is.
    void add(std::array<double, 5> quartic) {
        // The observed order, and those that come to it, give rounding and no quartic.
        const bool nothing = std::all_of(quartic.begin(), quartic.end(),
                                         [](double c) { return std::abs(c) < kNothing; });
        for (std::size_t power = nothing ? 0 : 2; power < quartic.size(); ++power)
            if (std::abs(quartic[power]) < kNothing) quartic[power] = 0;
        const SideRoot below = root_below(quartic), above = single_positive_root(quartic);
        if (below.single && above.single) {
            low_.push_back(below.at);
            high_.push_back(above.at);
            return;
        }
        const SignChanges roots = sign_changes(quartic);
        bool inside = sign_far_out(quartic, -1) >= 0;
        double since = -kInfinity;
        for (int i = 0; i < roots.count; ++i) {
            if (inside) add_stretch(since, roots.at[i]);
            inside = !inside;
            since = roots.at[i];
        }
        if (inside) add_stretch(since, kInfinity);
        several_ = true;
    }

    struct Hull {
        double low, high;
    };
    /// Smallest and largest w at which more than `most` count.
    Hull hull(std::int64_t most) {
        if (several_) return swept(most);
        // Every permutation counts in one stretch around 0, so its ends can be taken apart.
        const auto k = static_cast<std::ptrdiff_t>(most);
        std::nth_element(low_.begin(), low_.begin() + k, low_.end());
        std::nth_element(high_.begin(), high_.begin() + k, high_.end(), std::greater<>());
        return {low_[most], high_[most]};
    }

  private:
    void add_stretch(double from, double to) {
        low_.push_back(from);
        high_.push_back(to);
    }

    /// Through the beginnings and ends of all stretches in order.
    Hull swept(std::int64_t most) {
        std::sort(low_.begin(), low_.end());
        std::sort(high_.begin(), high_.end());
        std::int64_t count = 0;
        Hull hull{kInfinity, -kInfinity};
        std::size_t ended = 0;
        for (const double begin : low_) {
            for (; ended < high_.size() && high_[ended] < begin; ++ended)
                if (count-- == most + 1) hull.high = high_[ended];
            if (++count == most + 1) hull.low = std::min(hull.low, begin);
        }
        for (; ended < high_.size(); ++ended)
            if (count-- == most + 1) hull.high = high_[ended];
        return hull;
    }

    static int sign_far_out(const std::array<double, 5>& quartic, int side) {
        for (std::size_t power = 5; power-- > 0;) {
            if (quartic[power] == 0) continue;
            const double value = power % 2 == 1 ? side * quartic[power] : quartic[power];
            return value > 0 ? 1 : -1;
        }
        return 0;
    }

    static SideRoot root_below(std::array<double, 5> quartic) {
        quartic[1] = -quartic[1];
        quartic[3] = -quartic[3];
        const SideRoot root = single_positive_root(quartic);
        return {root.single, -root.at};
    }

    std::vector<double> low_, high_;  ///< where stretches in which a permutation counts begin, end
    bool several_ = false;            ///< a permutation has more than one, or none around 0
};

}  // namespace

/// What one set of values leaves over.
struct PartialTest::Residuals {
    std::vector<double> full;        ///< of nuisance and tested variable
    double effect = 0, squares = 0;  ///< of the full model
    double scale = 0;                ///< squares within blocks
};

std::vector<double> PartialTest::centred(std::span<const double> values) const {
    std::vector<double> result(values.begin(), values.end());
    for (const std::vector<int>& block : members_) {
        double sum = 0;
        for (const int i : block) sum += result[i] -= values[block.front()];
        for (const int i : block) result[i] -= sum / static_cast<double>(block.size());
    }
    return result;
}

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
    : members_(units_by_block(design.blocks, design.block_count)), orders_(orders) {
    std::erase_if(members_, [](const std::vector<int>& block) { return block.empty(); });
    for (const std::vector<double>& column : design.nuisance) {
        std::vector<double> direction = centred(column);
        const double before = dot(direction, direction);
        remove_nuisance(direction);
        const double left = dot(direction, direction);
        if (!(left > 1e-12 * before)) continue;  // told by the others already
        for (double& value : direction) value /= std::sqrt(left);
        basis_.push_back(std::move(direction));
    }
    tested_ = centred(design.tested);
    const double before = dot(tested_, tested_);
    remove_nuisance(tested_);
    squares_ = dot(tested_, tested_);
    inflation_ = squares_ > 1e-12 * before ? before / squares_ : kInfinity;
    freedom_ = static_cast<int>(design.tested.size()) - static_cast<int>(members_.size()) -
               static_cast<int>(basis_.size()) - 1;
    permute_tested();
}

PartialTest::Residuals PartialTest::residuals(std::span<const double> values) const {
    Residuals result;
    result.full = centred(values);
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
    Counter counter(with_interval ? orders_.rows() : 0);
    std::vector<double> permuted(values.size());
    for (std::int64_t r = 0; r < orders_.rows(); ++r) {
        const Products f = products(r, of, permuted);
        const double of_b = tested_row(r)[0], bb = tested_row(r)[1];
        const double squares = f.ff + 2 * beta * f.fb + beta * beta * bb;
        hits += t(f.of_f + beta * of_b, squares, of.scale) >= observed * (1 - 1e-9);
        if (!with_interval) continue;
        const double p = f.of_f / both, q = of_b / squares_;
        const double a = f.ff / of.squares, c = f.fb / both, d = bb / squares_;
        counter.add({p * p, -2 * p * q, p * p + q * q - a, 2 * c - 2 * p * q, q * q - d});
    }
    const double rows = static_cast<double>(orders_.rows());
    PartialResult result{beta, std::copysign(observed, beta), static_cast<double>(hits) / rows,
                         beta, beta};
    if (!with_interval) return result;
    const auto most =
        static_cast<std::int64_t>(std::min(std::floor((1 - *level) * rows + 1e-9), rows - 1));
    const auto hull = counter.hull(most);
    const double step = std::sqrt(of.squares / squares_);
    result.ci_low = beta + step * hull.low;
    result.ci_high = beta + step * hull.high;
    return result;
}

}  // namespace hearwood
