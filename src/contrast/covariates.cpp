#include "contrast/covariates.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

#include "base/missing.h"
#include "statistics/random.h"
#include "statistics/step_down.h"

namespace hearwood {

namespace {

using Numbers = std::vector<double>;

double dot(const Numbers& x, const Numbers& y) {
    return std::inner_product(x.begin(), x.end(), y.begin(), 0.0);
}

void take_off(Numbers& column, const Numbers& direction) {
    const double share = dot(column, direction);
    for (std::size_t i = 0; i < column.size(); ++i) column[i] -= share * direction[i];
}

/// Adds what the column does not share with the basis, at length 1; nothing where that is nothing.
void extend(std::vector<Numbers>& basis, Numbers column) {
    constexpr double kNothing = 1e-9;  // of dummies, whose lengths are 1 or more
    // Twice, so that rounding leaves no trace of the directions taken off before.
    for (int pass = 0; pass < 2; ++pass)
        for (const Numbers& direction : basis) take_off(column, direction);
    const double length = std::sqrt(dot(column, column));
    if (length < kNothing) return;
    for (double& value : column) value /= length;
    basis.push_back(std::move(column));
}

/// An indicator column of each name.
void extend_by(std::vector<Numbers>& basis, const std::vector<std::string>& names) {
    for (const std::string& name : std::set<std::string>(names.begin(), names.end())) {
        Numbers indicator;
        for (const std::string& other : names) indicator.push_back(other == name ? 1 : 0);
        extend(basis, std::move(indicator));
    }
}

}  // namespace

std::vector<double> residuals_of(std::span<const double> values,
                                 std::span<const std::string> classes,
                                 std::span<const std::string> blocks) {
    Numbers present;
    std::vector<std::string> of_class, of_block;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (is_missing(values[i])) continue;
        present.push_back(values[i]);
        of_class.push_back(classes[i]);
        of_block.push_back(blocks[i]);
    }
    std::vector<Numbers> basis;
    extend_by(basis, of_class);
    extend_by(basis, of_block);
    if (present.size() < basis.size() + 2) return {};
    const double size = std::sqrt(dot(present, present));
    for (const Numbers& direction : basis) take_off(present, direction);
    // What differs by rounding alone is a tie to the ranks.
    const double grain = 1e-12 * size;
    for (double& value : present) value = grain > 0 ? std::round(value / grain) * grain : 0;
    std::vector<double> residuals;
    std::size_t next = 0;
    for (const double value : values)
        residuals.push_back(is_missing(value) ? kMissing : present[next++]);
    return residuals;
}

namespace {

/// Centred ranks of the residuals of the sites that take part.
struct RankedPair {
    std::vector<int> place;  ///< by site: where in the ranks it stands; -1: takes no part
    Numbers value, column;
    double scale = 0;  ///< 0: no rho
};

Numbers centred_ranks(const Numbers& values) {
    Numbers ranks = mean_ranks(values);
    for (double& rank : ranks) rank -= (static_cast<double>(ranks.size()) + 1) / 2;
    return ranks;
}

RankedPair ranked(const ResidualPair& pair) {
    RankedPair result;
    Numbers value, column;
    for (std::size_t i = 0; i < pair.value.size(); ++i) {
        const bool present = !is_missing(pair.value[i]) && !is_missing(pair.column[i]);
        result.place.push_back(present ? static_cast<int>(value.size()) : -1);
        if (!present) continue;
        value.push_back(pair.value[i]);
        column.push_back(pair.column[i]);
    }
    constexpr std::size_t kFewest = 4;  // as RankCorrelations has it
    if (value.size() < kFewest) return result;
    result.value = centred_ranks(value);
    result.column = centred_ranks(column);
    result.scale = std::sqrt(dot(result.value, result.value) * dot(result.column, result.column));
    return result;
}

/// Abs rho when the pair's sites stand in the order that `order` has them in.
double abs_rho(const RankedPair& pair, const std::vector<std::size_t>& order) {
    if (!(pair.scale > 0)) return kMissing;
    double sum = 0;
    std::size_t next = 0;
    for (const std::size_t site : order) {
        if (site >= pair.place.size() || pair.place[site] < 0) continue;
        sum += pair.value[next++] * pair.column[static_cast<std::size_t>(pair.place[site])];
    }
    return std::abs(sum) / pair.scale;
}

}  // namespace

std::vector<double> adjusted_over(std::span<const ResidualPair> pairs, std::uint64_t seed) {
    std::vector<RankedPair> rows;
    std::size_t sites = 0;
    for (const ResidualPair& pair : pairs) {
        rows.push_back(ranked(pair));
        sites = std::max(sites, pair.value.size());
    }
    std::vector<std::size_t> order(sites);
    std::iota(order.begin(), order.end(), 0u);
    std::vector<double> statistics(rows.size());
    const auto look = [&] {
        for (std::size_t i = 0; i < rows.size(); ++i) statistics[i] = abs_rho(rows[i], order);
    };
    look();
    StepDown family(statistics);
    family.add(statistics);
    Random random(seed, "covariates");
    for (int draw = 0; draw < kCommonOrders; ++draw) {
        for (std::size_t i = order.size(); i > 1; --i)
            std::swap(order[i - 1], order[random.below(i)]);
        look();
        family.add(statistics);
    }
    return family.adjusted();
}

bool is_explanation(const std::string& column) {
    return column != "latitude" && column != "longitude" && column != "clock_error_start_s" &&
           column != "clock_error_end_s";
}

TableOf<CovariateRow> covariates_table() {
    using Row = CovariateRow;
    return TableOf<Row>("covariates.csv", "covariates",
                        "A row is an index, a window and a numeric column of the sheets.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("column", "", "numeric column of the sheets", &Row::column)
        .column("rho", "1", "Spearman's rank correlation across sites",
                [](const Row& row) { return row.correlation.rho; })
        .column("p", "1", "two-sided p of the permutation test",
                [](const Row& row) { return row.correlation.p; })
        .column("n", "1", "sites with both values",
                [](const Row& row) { return row.correlation.n; })
        .column("rho_within", "1",
                "Spearman's rank correlation of what is left of both over class and block",
                [](const Row& row) { return row.within.rho; })
        .column("p_within", "1", "its two-sided p, all orders or random ones; approximate",
                [](const Row& row) { return row.within.p; })
        .column("p_adjusted", "1",
                "p_within adjusted for all rows of the table: step-down, by the largest rho_within "
                "under common orders of the sites",
                &Row::p_adjusted);
}

std::string covariates_csv(std::span<const CovariateRow> rows) {
    return csv_of(covariates_table(), rows);
}

}  // namespace hearwood
