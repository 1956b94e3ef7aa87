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
#include <limits>
#include <numeric>

#include "statistics/roots.h"

namespace hearwood {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Below this a coefficient of the scaled quartic is rounding.
constexpr double kNothing = 1e-12;

double dot(std::span<const double> x, std::span<const double> y) {
    return std::inner_product(x.begin(), x.end(), y.begin(), 0.0);
}

/// Where the set of w at which permutations count begins or ends.
struct Event {
    double at;
    int change;
};

/// How many of all permutations count at each w, from -inf to inf.
class Counter {
  public:
    void add(std::array<double, 5> quartic) {
        for (double& c : quartic) c = std::abs(c) < kNothing ? 0 : c;
        const bool before = sign_far_out(quartic, -1) >= 0;
        bool inside = before;
        at_start_ += before;
        const SignChanges roots = sign_changes(quartic);
        for (int i = 0; i < roots.count; ++i) {
            inside = !inside;
            events_.push_back({roots.at[i], inside ? 1 : -1});
        }
    }

    struct Hull {
        double low, high;
    };
    /// Smallest and largest w at which more than `most` count.
    Hull hull(std::int64_t most) {
        std::sort(events_.begin(), events_.end(),
                  [](const Event& x, const Event& y) { return x.at < y.at; });
        std::int64_t count = at_start_;
        Hull hull{count > most ? -kInfinity : kInfinity, -kInfinity};
        for (const Event& event : events_) {
            const bool was_in = count > most;
            count += event.change;
            if (!was_in && count > most) hull.low = std::min(hull.low, event.at);
            if (was_in && count <= most) hull.high = event.at;
        }
        if (count > most) hull.high = kInfinity;
        return hull;
    }

  private:
    static int sign_far_out(const std::array<double, 5>& quartic, int side) {
        for (std::size_t power = 5; power-- > 0;) {
            if (quartic[power] == 0) continue;
            const double value = power % 2 == 1 ? side * quartic[power] : quartic[power];
            return value > 0 ? 1 : -1;
        }
        return 0;
    }

    std::vector<Event> events_;
    std::int64_t at_start_ = 0;
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

PartialResult PartialTest::test(std::span<const double> values, double level) const {
    const Residuals of = residuals(values);
    const double beta = of.effect, both = std::sqrt(squares_ * of.squares);
    const double observed = t(beta * squares_, of.squares + beta * beta * squares_, of.scale);
    std::int64_t hits = 0;
    Counter counter;
    std::vector<double> permuted(values.size());
    for (std::int64_t r = 0; r < orders_.rows(); ++r) {
        const Products f = products(r, of, permuted);
        const double of_b = tested_row(r)[0], bb = tested_row(r)[1];
        const double squares = f.ff + 2 * beta * f.fb + beta * beta * bb;
        hits += t(f.of_f + beta * of_b, squares, of.scale) >= observed * (1 - 1e-9);
        if (of.squares == 0) continue;
        const double p = f.of_f / both, q = of_b / squares_;
        const double a = f.ff / of.squares, c = f.fb / both, d = bb / squares_;
        counter.add({p * p, -2 * p * q, p * p + q * q - a, 2 * c - 2 * p * q, q * q - d});
    }
    const double rows = static_cast<double>(orders_.rows());
    PartialResult result{beta, std::copysign(observed, beta), static_cast<double>(hits) / rows,
                         beta, beta};
    if (of.squares == 0) return result;
    const auto most =
        static_cast<std::int64_t>(std::min(std::floor((1 - level) * rows + 1e-9), rows - 1));
    const auto hull = counter.hull(most);
    const double step = std::sqrt(of.squares / squares_);
    result.ci_low = beta + step * hull.low;
    result.ci_high = beta + step * hull.high;
    return result;
}

}  // namespace hearwood
