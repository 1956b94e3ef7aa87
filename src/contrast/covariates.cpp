#include "contrast/covariates.h"

#include <cmath>
#include <numeric>
#include <set>

#include "base/missing.h"

namespace hearwood {

namespace {

using Column = std::vector<double>;

double dot(const Column& x, const Column& y) {
    return std::inner_product(x.begin(), x.end(), y.begin(), 0.0);
}

void take_off(Column& column, const Column& direction) {
    const double share = dot(column, direction);
    for (std::size_t i = 0; i < column.size(); ++i) column[i] -= share * direction[i];
}

/// Adds what the column does not share with the basis, at length 1; nothing where that is nothing.
void extend(std::vector<Column>& basis, Column column) {
    constexpr double kNothing = 1e-9;  // of dummies, whose lengths are 1 or more
    // Twice, so that rounding leaves no trace of the directions taken off before.
    for (int pass = 0; pass < 2; ++pass)
        for (const Column& direction : basis) take_off(column, direction);
    const double length = std::sqrt(dot(column, column));
    if (length < kNothing) return;
    for (double& value : column) value /= length;
    basis.push_back(std::move(column));
}

/// An indicator column of each name.
void extend_by(std::vector<Column>& basis, const std::vector<std::string>& names) {
    for (const std::string& name : std::set<std::string>(names.begin(), names.end())) {
        Column indicator;
        for (const std::string& other : names) indicator.push_back(other == name ? 1 : 0);
        extend(basis, std::move(indicator));
    }
}

}  // namespace

std::vector<double> residuals_of(std::span<const double> values,
                                 std::span<const std::string> classes,
                                 std::span<const std::string> blocks) {
    Column present;
    std::vector<std::string> of_class, of_block;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (is_missing(values[i])) continue;
        present.push_back(values[i]);
        of_class.push_back(classes[i]);
        of_block.push_back(blocks[i]);
    }
    std::vector<Column> basis;
    extend_by(basis, of_class);
    extend_by(basis, of_block);
    if (present.size() < basis.size() + 2) return {};
    const double size = std::sqrt(dot(present, present));
    for (const Column& direction : basis) take_off(present, direction);
    // What differs by rounding alone is a tie to the ranks.
    const double grain = 1e-12 * size;
    for (double& value : present) value = grain > 0 ? std::round(value / grain) * grain : 0;
    std::vector<double> residuals;
    std::size_t next = 0;
    for (const double value : values)
        residuals.push_back(is_missing(value) ? kMissing : present[next++]);
    return residuals;
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
                [](const Row& row) { return row.within.p; });
}

std::string covariates_csv(std::span<const CovariateRow> rows) {
    return csv_of(covariates_table(), rows);
}

}  // namespace hearwood
