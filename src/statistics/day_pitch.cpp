#include "statistics/day_pitch.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_reduce.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <utility>

#include "statistics/family.h"
#include "statistics/step_down.h"

namespace hearwood {

namespace {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Rows of labels that are multiplied with the values at a time.
constexpr std::int64_t kBatch = 128;

/// Numbers of the cells that share a side with each.
std::vector<std::vector<int>> neighbours(std::span<const DayPitchCell> cells) {
    std::map<std::pair<int, double>, int> by_low;
    for (std::size_t i = 0; i < cells.size(); ++i)
        by_low[{cells[i].hour, cells[i].low_hz}] = static_cast<int>(i);
    std::vector<std::vector<int>> result(cells.size());
    const auto join = [&](std::size_t i, int hour, double low_hz) {
        const auto other = by_low.find({hour, low_hz});
        if (other == by_low.end() || other->second == static_cast<int>(i)) return;
        result[i].push_back(other->second);
        result[static_cast<std::size_t>(other->second)].push_back(static_cast<int>(i));
    };
    for (std::size_t i = 0; i < cells.size(); ++i) {
        join(i, (cells[i].hour + 1) % 24, cells[i].low_hz);
        join(i, cells[i].hour, cells[i].high_hz);
    }
    return result;
}

/// Clusters of one map of t; scratch memory is kept between maps.
class Clusters {
  public:
    explicit Clusters(const std::vector<std::vector<int>>& neighbours)
        : neighbours_(neighbours), number_(neighbours.size(), 0) {}

    /// Masses of the clusters among `strong`, the cells beyond the threshold. t of other cells is
    /// not looked at.
    const std::vector<double>& find(const std::vector<int>& strong, std::span<const double> t) {
        masses_.clear();
        for (const int cell : strong) number_[cell] = -1;
        for (const int first : strong)
            if (number_[first] == -1) grow(first, t);
        last_.assign(strong.begin(), strong.end());
        for (const int cell : strong) kept_.push_back(number_[cell]);
        return masses_;
    }
    /// Number (from 1) of the i-th strong cell's cluster; clears what find() left.
    std::vector<int> take_numbers() {
        for (const int cell : last_) number_[cell] = 0;
        return std::exchange(kept_, {});
    }

  private:
    void grow(int first, std::span<const double> t) {
        const int number = static_cast<int>(masses_.size()) + 1;
        masses_.push_back(0);
        stack_.assign(1, first);
        number_[first] = number;
        while (!stack_.empty()) {
            const int cell = stack_.back();
            stack_.pop_back();
            masses_.back() += std::abs(t[cell]);
            for (const int next : neighbours_[cell]) {
                if (number_[next] != -1 || (t[next] < 0) != (t[cell] < 0)) continue;
                number_[next] = number;
                stack_.push_back(next);
            }
        }
    }

    const std::vector<std::vector<int>>& neighbours_;
    std::vector<int> number_;  ///< 0: not strong, -1: not yet in a cluster
    std::vector<int> stack_, last_, kept_;
    std::vector<double> masses_;
};

/// Values made ready: z = (sum over A of column)  gives rho = z^2 = T^2 I / (squares within
/// blocks), and t = z / sqrt((1 - z^2) / df).
struct Ready {
    Matrix columns;            ///< units x cells
    std::vector<bool> varies;  ///< within blocks
    double df = 0;
};

Ready ready_columns(const PairTest& test, std::span<const DayPitchCell> cells) {
    const auto units = static_cast<Eigen::Index>(test.layout().classes.size());
    Ready ready{Matrix::Zero(units, static_cast<Eigen::Index>(cells.size())), {}, 0};
    ready.df = static_cast<double>(units) - test.layout().block_count - 1;
    for (std::size_t c = 0; c < cells.size(); ++c) {
        const std::vector<double> e = block_residuals(cells[c].values, test.layout());
        double squares = 0;
        for (const double residual : e) squares += residual * residual;
        ready.varies.push_back(squares > 0);
        if (!(squares > 0)) continue;
        const double scale = 1 / std::sqrt(squares * test.information());
        for (Eigen::Index i = 0; i < units; ++i)
            ready.columns(i, static_cast<Eigen::Index>(c)) = e[static_cast<std::size_t>(i)] * scale;
    }
    return ready;
}

/// What is counted over permutations.
struct Counts {
    StepDown cells;
    std::vector<std::int64_t> clusters;
};

class Map {
  public:
    Map(const PairTest& test, std::span<const DayPitchCell> cells, double threshold)
        : test_(test), ready_(ready_columns(test, cells)), neighbours_(neighbours(cells)) {
        limit_ = threshold * threshold / (threshold * threshold + ready_.df);
    }

    double t_of(double z) const {
        const double rest = 1 - z * z;
        if (rest <= 1e-14) return std::copysign(std::numeric_limits<double>::infinity(), z);
        return z / std::sqrt(rest / ready_.df);
    }
    bool strong(double z) const { return z * z > limit_; }

    /// z of the cells under rows [first, first + count).
    Matrix z(std::int64_t first, std::int64_t count) const {
        Matrix labels(count, ready_.columns.rows());
        for (std::int64_t r = 0; r < count; ++r)
            for (Eigen::Index i = 0; i < labels.cols(); ++i)
                labels(r, i) = test_.in_a(first + r, static_cast<std::size_t>(i)) ? 1 : 0;
        return labels * ready_.columns;
    }

    /// A cell that takes no part: its z is 0 under every row.
    void leave_out(std::size_t cell) {
        ready_.columns.col(static_cast<Eigen::Index>(cell)).setZero();
    }

    const Ready& ready() const { return ready_; }
    const std::vector<std::vector<int>>& sides() const { return neighbours_; }

  private:
    const PairTest& test_;
    Ready ready_;
    std::vector<std::vector<int>> neighbours_;
    double limit_ = 0;  ///< of z^2 at the threshold of t
};

/// The cells beyond the threshold and their t.
void find_strong(const Map& map, std::span<const double> z, std::vector<int>& strong,
                 std::vector<double>& t) {
    strong.clear();
    for (std::size_t c = 0; c < z.size(); ++c) {
        if (!map.strong(z[c])) continue;
        strong.push_back(static_cast<int>(c));
        t[c] = map.t_of(z[c]);
    }
}

Counts count_rows(const Map& map, const tbb::blocked_range<std::int64_t>& batches,
                  std::int64_t rows, const std::vector<double>& masses, Counts so_far) {
    Clusters clusters(map.sides());
    const std::size_t cells = map.sides().size();
    std::vector<double> t(cells), squares(cells);
    std::vector<int> strong;
    for (std::int64_t batch = batches.begin(); batch < batches.end(); ++batch) {
        const std::int64_t first = batch * kBatch, count = std::min(kBatch, rows - first);
        const Matrix z = map.z(first, count);
        for (std::int64_t r = 0; r < count; ++r) {
            const std::span<const double> row(z.data() + r * z.cols(), cells);
            for (std::size_t c = 0; c < cells; ++c) squares[c] = row[c] * row[c];
            so_far.cells.add(squares);
            find_strong(map, row, strong, t);
            double heaviest = 0;
            for (const double mass : clusters.find(strong, t)) heaviest = std::max(heaviest, mass);
            clusters.take_numbers();
            for (std::size_t k = 0; k < masses.size(); ++k)
                so_far.clusters[k] += heaviest >= masses[k] * (1 - 1e-9);
        }
    }
    return so_far;
}

Counts merged(Counts one, const Counts& other) {
    one.cells.merge(other.cells);
    for (std::size_t k = 0; k < one.clusters.size(); ++k) one.clusters[k] += other.clusters[k];
    return one;
}

double mean_of(const std::vector<double>& values, const Layout& layout, int stand) {
    double sum = 0, count = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (layout.classes[i] != stand) continue;
        sum += values[i];
        ++count;
    }
    return sum / count;
}

/// The observed clusters, the heaviest first: their masses, and each cell's number (from 1).
struct Observed {
    std::vector<double> masses;
    std::vector<int> cluster;
};

Observed observe(const Map& map, std::span<const double> z) {
    Clusters clusters(map.sides());
    std::vector<int> strong;
    std::vector<double> t(z.size());
    find_strong(map, z, strong, t);
    const std::vector<double> masses = clusters.find(strong, t);
    const std::vector<int> numbers = clusters.take_numbers();
    std::vector<std::size_t> order(masses.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t x, std::size_t y) { return masses[x] > masses[y]; });
    Observed result{{}, std::vector<int>(z.size(), 0)};
    std::vector<int> rank(masses.size());
    for (std::size_t i = 0; i < order.size(); ++i) {
        rank[order[i]] = static_cast<int>(i) + 1;
        result.masses.push_back(masses[order[i]]);
    }
    for (std::size_t i = 0; i < strong.size(); ++i)
        result.cluster[strong[i]] = rank[numbers[i] - 1];
    return result;
}

}  // namespace

std::vector<DayPitchResult> day_pitch(const PairTest& test, std::span<const DayPitchCell> cells,
                                      double threshold) {
    std::vector<DayPitchResult> results(cells.size());
    if (cells.empty()) return results;
    Map map(test, cells, threshold);
    if (!(map.ready().df > 0)) return results;
    Matrix z = map.z(0, 1);
    const std::span<double> observed(z.data(), cells.size());
    std::vector<double> family;
    for (std::size_t c = 0; c < cells.size(); ++c) {
        const bool tested = map.ready().varies[c] && std::isfinite(map.t_of(observed[c]));
        family.push_back(tested ? observed[c] * observed[c] : kMissing);
        if (tested) continue;
        map.leave_out(c);
        observed[c] = 0;
    }
    const Observed clusters = observe(map, observed);
    const std::int64_t batches = (test.rows() + kBatch - 1) / kBatch;
    const Counts none{StepDown(family), std::vector<std::int64_t>(clusters.masses.size(), 0)};
    const Counts counts = tbb::parallel_reduce(
        tbb::blocked_range<std::int64_t>(0, batches), none,
        [&](const tbb::blocked_range<std::int64_t>& range, Counts so_far) {
            return count_rows(map, range, test.rows(), clusters.masses, std::move(so_far));
        },
        merged);
    const std::vector<double> adjusted = counts.cells.adjusted();
    for (std::size_t c = 0; c < cells.size(); ++c) {
        DayPitchResult& result = results[c];
        result.mean_a = mean_of(cells[c].values, test.layout(), 0);
        result.mean_b = mean_of(cells[c].values, test.layout(), 1);
        result.difference = test.difference(cells[c].values);
        if (is_missing(family[c])) continue;
        result.t = map.t_of(observed[c]);
        result.p_adjusted = adjusted[c];
        result.cluster = clusters.cluster[c];
        if (result.cluster > 0)
            result.cluster_p = static_cast<double>(counts.clusters[result.cluster - 1]) /
                               static_cast<double>(test.rows());
    }
    return results;
}

}  // namespace hearwood
