#include "statistics/additive_model.h"

#include <algorithm>

#include "statistics/additive_design.h"

namespace hearwood {

using additive::Index, additive::MatrixXd, additive::Pattern, additive::Rows;
using additive::kCell, additive::kDate, additive::kSite;

namespace {

std::vector<int> keys(const std::map<int, std::vector<double>>& sums) {
    std::vector<int> result;
    result.reserve(sums.size());
    for (const auto& [level, sum] : sums) result.push_back(level);
    return result;
}

void fill(const std::map<int, std::vector<double>>& sums, const additive::Levels& levels,
          const std::vector<std::size_t>& columns, Index first, MatrixXd& out) {
    std::size_t level = 0;
    for (const auto& [key, sum] : sums) {
        const int place = levels.index[level++];
        if (place < 0) continue;
        for (std::size_t c = 0; c < columns.size(); ++c)
            out(first + place, static_cast<Index>(c)) = sum[columns[c]];
    }
}

}  // namespace

/// Some columns that are present in the same rows, solved.
struct AdditiveModel::Solved {
    const std::vector<std::size_t>& columns;
    const std::vector<bool>& present;
    Pattern pattern;
    MatrixXd stay_sums;  ///< a column each, and last the column of ones
    MatrixXd solution;   ///< of them: the last is what a shift of all values by 1 does

    Solved(const AdditiveModel& model, const Rows& rows, const std::vector<bool>& which,
           const std::vector<std::size_t>& of_columns)
        : columns(of_columns), present(which), pattern(rows, &which) {
        const additive::Equations& e = pattern.equations();
        const auto width = static_cast<Index>(columns.size()) + 1;
        stay_sums.resize(e.stay(), width);
        MatrixXd gone_sums(e.gones.size(), width);
        const bool date_stays = e.time == kDate;
        fill(model.by_site_, e.sites, columns, 0, stay_sums);
        fill(date_stays ? model.by_date_ : model.by_cell_, e.times, columns, e.sites.size(),
             stay_sums);
        fill(date_stays ? model.by_cell_ : model.by_date_, e.gones, columns, 0, gone_sums);
        stay_sums.rightCols(1) = e.normal.diagonal();
        gone_sums.rightCols(1) = e.gone_counts;
        solution = pattern.solve(stay_sums, gone_sums);
    }
};

AdditiveModel::AdditiveModel(std::size_t sites, std::size_t columns)
    : sites_(sites), columns_(columns), present_(columns), offsets_(columns, kMissing) {
    for (std::size_t s = 0; s < sites; ++s)
        by_site_.emplace(static_cast<int>(s), std::vector<double>(columns));
}

void AdditiveModel::add(const DesignCell& where, std::span<const double> values) {
    where_.push_back(where);
    std::vector<double>& site = by_site_.at(where.site);
    std::vector<double>& date = by_date_.try_emplace(where.date, columns_).first->second;
    std::vector<double>& cell = by_cell_.try_emplace(where.cell, columns_).first->second;
    std::vector<double>& night =
        by_night_.try_emplace({where.site, where.date}, columns_).first->second;
    for (std::size_t c = 0; c < columns_; ++c) {
        const bool there = !is_missing(values[c]);
        present_[c].push_back(there);
        if (!there) continue;
        if (is_missing(offsets_[c])) offsets_[c] = values[c];
        const double value = values[c] - offsets_[c];
        for (std::vector<double>* sums : {&site, &date, &cell, &night}) (*sums)[c] += value;
    }
}

void AdditiveModel::put_values(const Solved& solved, Fit& fit) const {
    const Pattern& pattern = solved.pattern;
    const Eigen::RowVectorXd level = pattern.level(solved.solution);
    const std::vector<SiteEstimate> design = pattern.design(sites_);
    const Index ones = solved.solution.cols() - 1;
    for (std::size_t c = 0; c < solved.columns.size(); ++c) {
        std::vector<SiteEstimate>& column = fit.columns[solved.columns[c]] = design;
        const double offset = offsets_[solved.columns[c]];
        const auto place = static_cast<Index>(c);
        for (const Index s : pattern.group()) {
            const auto value = [&](Index at) { return solved.solution(1 + s, at) + level(at); };
            column[pattern.site(s)].value =
                pattern.complete(s)
                    ? offset + solved.stay_sums(s, place) / pattern.equations().normal(s, s)
                    : value(place) + offset * value(ones);
        }
    }
}

/// The site's value plus the mean residual of its cells on the date.
void AdditiveModel::put_nights(const Solved& solved, const Rows& rows,
                               const std::vector<std::size_t>& nights, Fit& fit) const {
    const auto width = static_cast<Index>(solved.columns.size());
    MatrixXd fitted = MatrixXd::Zero(static_cast<Index>(fit.nights.size()), width);
    std::vector<int> counts(fit.nights.size());
    for (std::size_t r = 0; r < rows.levels_of.size(); ++r) {
        if (!solved.present[r]) continue;
        fitted.row(static_cast<Index>(nights[r])) += solved.solution.row(0).head(width);
        for (const auto factor : {kSite, kDate, kCell})
            fitted.row(static_cast<Index>(nights[r])) +=
                solved.solution.row(solved.pattern.row_of(factor, rows.levels_of[r][factor]))
                    .head(width);
        ++counts[nights[r]];
    }
    std::size_t place = 0;
    for (const auto& [key, sums] : by_night_) {
        SiteNight& night = fit.nights[place];
        for (std::size_t c = 0; c < solved.columns.size() && counts[place] > 0; ++c) {
            const std::size_t column = solved.columns[c];
            const double residual =
                sums[column] - fitted(static_cast<Index>(place), static_cast<Index>(c));
            night.values[column] = fit.columns[column][static_cast<std::size_t>(key.first)].value +
                                   residual / counts[place];
        }
        ++place;
    }
}

AdditiveModel::Fit AdditiveModel::fit() const {
    Fit fit;
    fit.design.resize(sites_);
    fit.columns.resize(columns_, std::vector<SiteEstimate>(sites_));
    if (where_.empty()) return fit;
    const Rows rows = additive::counted_from_zero(where_, sites_, keys(by_date_), keys(by_cell_));
    fit.design = Pattern(rows, nullptr).design(sites_);
    std::map<std::pair<int, int>, std::size_t> places;
    for (const auto& [key, sums] : by_night_) {
        places.emplace(key, fit.nights.size());
        fit.nights.push_back({key.first, key.second, std::vector<double>(columns_, kMissing)});
    }
    std::vector<std::size_t> nights;
    for (const DesignCell& row : where_) nights.push_back(places.at({row.site, row.date}));

    std::map<std::vector<bool>, std::vector<std::size_t>> patterns;
    for (std::size_t c = 0; c < columns_; ++c) patterns[present_[c]].push_back(c);
    for (const auto& [present, columns] : patterns) {
        if (std::find(present.begin(), present.end(), true) == present.end()) continue;
        const Solved solved(*this, rows, present, columns);
        put_values(solved, fit);
        put_nights(solved, rows, nights, fit);
    }
    return fit;
}

}  // namespace hearwood
