// The class sum of squares, adjusted for blocks, from residuals e within blocks: Q_j = sum of e
// over class j, and SS = Q' G Q with G a generalised inverse of C, C_jk = n_j [j = k] - sum over
// blocks of n_bj n_bk / n_b (reduced normal equations of the additive model). C depends on the
// counts n_bj only, which permutation within blocks keeps, so G is found once, and F and SS order
// the permutations alike.
#include "contrast/classes.h"

#include <fmt/core.h>
#include <tbb/blocked_range.h>
#include <tbb/parallel_reduce.h>

#include <algorithm>
#include <limits>
#include <map>

#include "base/error.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/units.h"
#include "statistics/step_down.h"

namespace hearwood {

namespace {

using Matrix = std::vector<std::vector<double>>;

/// Units of each block and class: counts[b][j].
std::vector<std::vector<int>> cell_counts(const Layout& layout) {
    std::vector<std::vector<int>> counts(layout.block_count,
                                         std::vector<int>(layout.class_count, 0));
    for (std::size_t i = 0; i < layout.classes.size(); ++i)
        ++counts[layout.blocks[i]][layout.classes[i]];
    return counts;
}

Matrix normal_matrix(const Layout& layout) {
    const int k = layout.class_count;
    Matrix c(k, std::vector<double>(k, 0));
    for (const std::vector<int>& cell : cell_counts(layout)) {
        double size = 0;
        for (const int count : cell) size += count;
        if (size == 0) continue;
        for (int i = 0; i < k; ++i)
            for (int j = 0; j < k; ++j)
                c[i][j] += (i == j ? cell[i] : 0) - static_cast<double>(cell[i]) * cell[j] / size;
    }
    return c;
}

struct GeneralisedInverse {
    Matrix g;
    int rank = 0;
};

/// Gauss-Jordan on the diagonal; a pivot that is 0 leaves its row and column at 0, which gives a
/// generalised inverse of a symmetric non-negative matrix.
GeneralisedInverse invert(Matrix c) {
    const std::size_t k = c.size();
    GeneralisedInverse result;
    std::vector<bool> used(k, false);
    double largest = 0;
    for (std::size_t i = 0; i < k; ++i) largest = std::max(largest, c[i][i]);
    for (std::size_t p = 0; p < k; ++p) {
        if (c[p][p] <= 1e-9 * largest) continue;
        used[p] = true;
        ++result.rank;
        // Sweep operator: in place, symmetric up to the signs of swept rows.
        const double pivot = c[p][p];
        for (std::size_t j = 0; j < k; ++j)
            if (j != p) c[p][j] /= pivot;
        for (std::size_t i = 0; i < k; ++i) {
            if (i == p) continue;
            const double factor = c[i][p];
            for (std::size_t j = 0; j < k; ++j)
                if (j != p) c[i][j] -= factor * c[p][j];
            c[i][p] = -factor / pivot;
        }
        c[p][p] = 1 / pivot;
    }
    result.g.assign(k, std::vector<double>(k, 0));
    for (std::size_t i = 0; i < k; ++i)
        for (std::size_t j = 0; j < k; ++j)
            if (used[i] && used[j]) result.g[i][j] = c[i][j];
    return result;
}

double class_squares(std::span<const std::uint8_t> row, const std::vector<double>& e,
                     const Matrix& g) {
    std::vector<double> q(g.size(), 0);
    for (std::size_t i = 0; i < e.size(); ++i) q[row[i]] += e[i];
    double squares = 0;
    for (std::size_t i = 0; i < q.size(); ++i)
        for (std::size_t j = 0; j < q.size(); ++j) squares += q[i] * g[i][j] * q[j];
    return squares;
}

/// Permutations that only exchange the names of classes with the same counts in every block give
/// the same F.
double renamings(const Layout& layout) {
    const std::vector<std::vector<int>> counts = cell_counts(layout);
    std::map<std::vector<int>, int> alike;
    double ways = 1;
    for (int j = 0; j < layout.class_count; ++j) {
        std::vector<int> column;
        column.reserve(counts.size());
        for (const std::vector<int>& cell : counts) column.push_back(cell[j]);
        ways *= ++alike[column];
    }
    return ways;
}

double f_of(double explained, double total, double rank, double df) {
    const double rest = total - explained;
    if (rest <= 1e-14 * total) return std::numeric_limits<double>::infinity();
    return explained / rank / (rest / df);
}

void test(ClassesRow& row, const ReadyUnits& ready, const ContrastPlan& plan) {
    const Permutations permutations(ready.layout, plan.seed, plan.limits);
    const std::vector<double> e = block_residuals(values_of(ready.units), ready.layout);
    const GeneralisedInverse inverse = invert(normal_matrix(ready.layout));
    double total = 0;
    for (const double residual : e) total += residual * residual;
    const double observed = class_squares(permutations.row(0), e, inverse.g);
    std::int64_t hits = 0;
    for (std::int64_t r = 0; r < permutations.rows(); ++r)
        hits += class_squares(permutations.row(r), e, inverse.g) >= observed - 1e-9 * total;
    const double rows = static_cast<double>(permutations.rows());
    row.p = static_cast<double>(hits) / rows;
    row.p_min = (permutations.exact() ? renamings(ready.layout) : 1) / rows;
    row.permutations = permutations.reported();
    row.exact = permutations.exact();
    const double df = row.sites - ready.layout.block_count - inverse.rank;
    if (total > 0 && df > 0) row.f = f_of(observed, total, inverse.rank, df);
}

/// Leaves out classes with one site until all that are left have two, blocks considered.
ReadyUnits testable(std::span<const Unit> units, std::vector<std::string>& classes,
                    std::vector<std::string>& single) {
    while (true) {
        ReadyUnits ready = ready_units(units, classes);
        std::vector<std::string> kept;
        for (std::size_t j = 0; j < classes.size(); ++j)
            (ready.counts[j] >= 2 ? kept : single).push_back(classes[j]);
        if (kept.size() == classes.size()) return ready;
        classes = kept;
    }
}

/// F of one outcome under labels of all sites of the family; sites without a value are left out of
/// it under every permutation.
class OutcomeF {
  public:
    OutcomeF(const Layout& layout, std::vector<double> values) : layout_(layout) {
        whole_ = std::none_of(values.begin(), values.end(), is_missing);
        for (std::size_t i = 0; i < values.size(); ++i) {
            if (is_missing(values[i])) continue;
            present_.push_back(i);
            values_.push_back(values[i]);
        }
        if (whole_) inverse_ = invert(normal_matrix(layout));
    }

    /// NaN where a class has fewer than 2 sites left, 0 where nothing varies.
    double at(std::span<const std::uint8_t> labels) const {
        Layout here{{}, {}, layout_.class_count, layout_.block_count};
        std::vector<double> values;
        std::vector<std::uint8_t> row;
        std::vector<int> counts(layout_.class_count, 0);
        const std::vector<bool> mixed = mixed_blocks(labels);
        for (std::size_t k = 0; k < present_.size(); ++k) {
            const std::size_t place = present_[k];
            if (!mixed[layout_.blocks[place]]) continue;
            here.classes.push_back(labels[place]);
            here.blocks.push_back(layout_.blocks[place]);
            row.push_back(labels[place]);
            values.push_back(values_[k]);
            ++counts[labels[place]];
        }
        if (*std::min_element(counts.begin(), counts.end()) < 2) return kMissing;
        const GeneralisedInverse inverse = whole_ ? inverse_ : invert(normal_matrix(here));
        const std::vector<double> e = block_residuals(values, here);
        double total = 0;
        for (const double residual : e) total += residual * residual;
        const auto blocks = std::count(mixed.begin(), mixed.end(), true);
        const double df =
            static_cast<double>(e.size()) - static_cast<double>(blocks) - inverse.rank;
        if (total == 0 || df <= 0) return 0;
        return f_of(class_squares(row, e, inverse.g), total, inverse.rank, df);
    }

  private:
    /// Blocks with more than one class among the sites that have a value.
    std::vector<bool> mixed_blocks(std::span<const std::uint8_t> labels) const {
        std::vector<int> first(layout_.block_count, -1);
        std::vector<bool> mixed(layout_.block_count, false);
        for (const std::size_t place : present_) {
            int& seen = first[layout_.blocks[place]];
            if (seen >= 0 && seen != labels[place]) mixed[layout_.blocks[place]] = true;
            seen = labels[place];
        }
        return mixed;
    }

    const Layout& layout_;
    bool whole_;
    std::vector<std::size_t> present_;
    std::vector<double> values_;
    GeneralisedInverse inverse_;
};

/// Step-down over the largest F of the rows, all of whose classes took part.
std::vector<double> adjusted_over(std::span<const Outcome> outcomes,
                                  std::span<const ClassesRow> rows, const ContrastPlan& plan) {
    std::vector<std::string> classes;
    std::map<std::string, Unit> sites;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (is_missing(rows[i].p)) continue;
        for (const std::string& name : rows[i].classes)
            if (std::find(classes.begin(), classes.end(), name) == classes.end())
                classes.push_back(name);
        for (const Unit& unit : outcomes[i].units)
            if (!is_missing(unit.value))
                sites.emplace(unit.site, Unit{unit.site, unit.stand, unit.block, 0});
    }
    std::vector<double> p(rows.size(), kMissing);
    if (classes.size() < 2) return p;
    std::vector<Unit> units;
    for (const auto& [name, unit] : sites) units.push_back(unit);
    const ReadyUnits ready = ready_units(units, classes);
    const Permutations permutations(ready.layout, plan.seed, plan.limits);
    std::vector<OutcomeF> family;
    std::vector<double> observed;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        family.emplace_back(ready.layout, values_at(ready.units, outcomes[i]));
        const double f = is_missing(rows[i].p) ? kMissing : family.back().at(permutations.row(0));
        observed.push_back(f > 0 ? f : kMissing);
    }
    const auto count = [&](const tbb::blocked_range<std::int64_t>& range, StepDown so_far) {
        std::vector<double> f(family.size());
        for (std::int64_t r = range.begin(); r < range.end(); ++r) {
            for (std::size_t i = 0; i < f.size(); ++i)
                f[i] = is_missing(observed[i]) ? kMissing : family[i].at(permutations.row(r));
            so_far.add(f);
        }
        return so_far;
    };
    return tbb::parallel_reduce(tbb::blocked_range<std::int64_t>(0, permutations.rows(), 256),
                                StepDown(observed), count, StepDown::merged)
        .adjusted();
}

}  // namespace

std::vector<ClassesRow> classes_table(std::span<const SiteValue> values, const ContrastPlan& plan) {
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<ClassesRow> rows(outcomes.size());
    const std::vector<std::string> classes = classes_in(values);
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        ClassesRow& row = rows[i];
        row.index = outcomes[i].index;
        row.window = outcomes[i].window;
        row.classes = classes;
        const ReadyUnits ready = testable(outcomes[i].units, row.classes, row.single);
        row.sites = static_cast<int>(ready.units.size());
        if (row.classes.size() > kMostClasses)
            throw InputError(
                fmt::format("{} classes are more than can be compared at once", row.classes.size()),
                fmt::format("name at most {} classes", kMostClasses));
        if (row.classes.size() >= 2) test(row, ready, plan);
    }
    const std::vector<double> adjusted = adjusted_over(outcomes, rows, plan);
    for (std::size_t i = 0; i < rows.size(); ++i) rows[i].p_adjusted = adjusted[i];
    return rows;
}

TableOf<ClassesRow> classes_table() {
    using Row = ClassesRow;
    return TableOf<Row>("classes.csv", "all classes",
                        "A row is an index and a window: do the classes differ at all?")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("classes", "", "classes that took part, joined by ';'",
                [](const Row& row) { return join(row.classes, ";"); })
        .column("single", "", "classes with one site, joined by ';': shown, not tested",
                [](const Row& row) { return join(row.single, ";"); })
        .column("sites", "1", "sites that took part", &Row::sites)
        .column("f", "1", "F of the classes, adjusted for blocks; INF when nothing is left over",
                &Row::f)
        .column("p", "1", "p of the permutation test", &Row::p)
        .column("p_min", "1", "least p that this design can give", &Row::p_min)
        .column("permutations", "1", "permutations of the sites that were enumerated or drawn",
                [](const Row& row) {
                    return !is_missing(row.p) ? std::optional(row.permutations) : std::nullopt;
                })
        .column("p_adjusted", "1", "p adjusted for the family of tests", &Row::p_adjusted);
}

std::string classes_csv(std::span<const ClassesRow> rows) {
    return csv_of(classes_table(), rows);
}

}  // namespace hearwood
