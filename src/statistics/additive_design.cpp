#include "statistics/additive_design.h"

#include <algorithm>
#include <tuple>

namespace hearwood::additive {

namespace {

// The scaled normal equations have integers below them and eigenvalues up to about 3; a link of one
// cell between two halves of a million leaves one of 1e-6, rounding one below 1e-13.
constexpr double kZeroEigenvalue = 1e-10;
constexpr double kSameDirection = 1e-6;

std::vector<Index> largest_group(const Equations& e, const Factorised& factorised) {
    std::vector<std::vector<Index>> groups;
    std::vector<double> rows;
    for (Index s = 0; s < e.sites.size(); ++s) {
        const auto home = std::find_if(groups.begin(), groups.end(), [&](const auto& group) {
            return factorised.comparable(group.front(), s);
        });
        const auto place = static_cast<std::size_t>(home - groups.begin());
        if (home == groups.end()) {
            groups.emplace_back();
            rows.push_back(0);
        }
        groups[place].push_back(s);
        rows[place] += e.normal(s, s);
    }
    std::size_t best = 0;
    for (std::size_t g = 1; g < groups.size(); ++g)
        if (std::tuple(groups[g].size(), rows[g]) > std::tuple(groups[best].size(), rows[best]))
            best = g;
    return groups[best];
}

/// Shares with which each level counts in a mean over those where a site of the group was recorded.
VectorXd mean_weights(const MatrixXd& site_rows, const std::vector<Index>& group) {
    VectorXd weights = VectorXd::Zero(site_rows.cols());
    for (const Index s : group)
        for (Index level = 0; level < site_rows.cols(); ++level)
            if (site_rows(s, level) > 0) weights(level) = 1;
    return weights / weights.sum();
}

}  // namespace

Rows counted_from_zero(const std::vector<DesignCell>& where, std::size_t sites,
                       const std::vector<int>& dates, const std::vector<int>& cells) {
    const auto number = [](const std::vector<int>& sorted, int level) {
        return static_cast<int>(std::lower_bound(sorted.begin(), sorted.end(), level) -
                                sorted.begin());
    };
    Rows rows{{}, {sites, dates.size(), cells.size()}};
    rows.levels_of.reserve(where.size());
    for (const DesignCell& row : where)
        rows.levels_of.push_back({row.site, number(dates, row.date), number(cells, row.cell)});
    return rows;
}

Levels::Levels(const std::vector<int>& counts) : index(counts.size(), -1) {
    for (std::size_t level = 0; level < counts.size(); ++level)
        if (counts[level] > 0) {
            index[level] = static_cast<int>(used.size());
            used.push_back(static_cast<int>(level));
        }
}

Equations::Counts Equations::counts(const Rows& rows, const std::vector<bool>* present) {
    Counts result;
    for (std::size_t f = 0; f < 3; ++f) result[f].resize(rows.levels[f]);
    for (std::size_t r = 0; r < rows.levels_of.size(); ++r)
        if (!present || (*present)[r])
            for (std::size_t f = 0; f < 3; ++f)
                ++result[f][static_cast<std::size_t>(rows.levels_of[r][f])];
    return result;
}

Equations::Equations(const Rows& rows, const std::vector<bool>* present)
    : Equations(rows, present, counts(rows, present)) {}

Equations::Equations(const Rows& rows, const std::vector<bool>* present, const Counts& counts)
    : time(rows.levels[kDate] < rows.levels[kCell] ? kDate : kCell),
      gone(time == kDate ? kCell : kDate),
      sites(counts[kSite]),
      times(counts[time]),
      gones(counts[gone]),
      normal(MatrixXd::Zero(stay(), stay())),
      cross(MatrixXd::Zero(stay(), gones.size())),
      gone_counts(VectorXd::Zero(gones.size())) {
    const auto place = [](const Levels& levels, int level) {
        return static_cast<Index>(levels.index[static_cast<std::size_t>(level)]);
    };
    for (std::size_t r = 0; r < rows.levels_of.size(); ++r) {
        if (present && !(*present)[r]) continue;
        const std::array<int, 3>& row = rows.levels_of[r];
        const Index s = place(sites, row[kSite]);
        const Index t = sites.size() + place(times, row[time]);
        const Index g = place(gones, row[gone]);
        normal(s, s) += 1;
        normal(t, t) += 1;
        normal(s, t) += 1;
        normal(t, s) += 1;
        cross(s, g) += 1;
        cross(t, g) += 1;
        gone_counts(g) += 1;
    }
}

Factorised::Factorised(const Equations& equations) : e_(equations) {
    const VectorXd scale = e_.normal.diagonal().cwiseSqrt().cwiseInverse();
    weights_ = e_.cross * e_.gone_counts.cwiseInverse().asDiagonal();
    const MatrixXd reduced =
        scale.asDiagonal() * (e_.normal - weights_ * e_.cross.transpose()) * scale.asDiagonal();
    const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(reduced);
    const Index zeros = (solver.eigenvalues().array() < kZeroEigenvalue).count();
    const Index rest = e_.stay() - zeros;
    const MatrixXd vectors = scale.asDiagonal() * solver.eigenvectors();
    open_ = vectors.leftCols(zeros);
    inverse_ = vectors.rightCols(rest) *
               solver.eigenvalues().tail(rest).cwiseInverse().asDiagonal() *
               vectors.rightCols(rest).transpose();
}

bool Factorised::comparable(Index a, Index b) const {
    return (open_.row(a) - open_.row(b)).norm() <=
           kSameDirection * (open_.row(a).norm() + open_.row(b).norm());
}

MatrixXd Factorised::solve(const MatrixXd& stay_sums, const MatrixXd& gone_sums) const {
    const MatrixXd stay = inverse_ * (stay_sums - weights_ * gone_sums);
    MatrixXd solution = MatrixXd::Zero(1 + e_.stay() + e_.gones.size(), stay.cols());
    solution.middleRows(1, e_.stay()) = stay;
    solution.bottomRows(e_.gones.size()) =
        e_.gone_counts.cwiseInverse().asDiagonal() * gone_sums - weights_.transpose() * stay;
    const MatrixXd basis = open_directions();
    return solution - basis * (basis.transpose() * solution);
}

MatrixXd Factorised::open_directions() const {
    const Index count = open_.cols() + 1;
    MatrixXd basis = MatrixXd::Zero(1 + e_.stay() + e_.gones.size(), count);
    basis.block(1, 0, e_.stay(), open_.cols()) = open_;
    basis.block(1 + e_.stay(), 0, e_.gones.size(), open_.cols()) = -weights_.transpose() * open_;
    basis(0, count - 1) = 1;
    basis.col(count - 1).segment(1, e_.sites.size()).setConstant(-1);
    basis.colwise().normalize();
    const Eigen::HouseholderQR<MatrixXd> qr(basis);
    return qr.householderQ() * MatrixXd::Identity(basis.rows(), count);
}

Pattern::Pattern(const Rows& rows, const std::vector<bool>* present)
    : e_(rows, present), factorised_(e_), group_(largest_group(e_, factorised_)) {
    const Index sites = e_.sites.size();
    time_weights_ = mean_weights(e_.normal.topRightCorner(sites, e_.times.size()), group_);
    gone_weights_ = mean_weights(e_.cross.topRows(sites), group_);
}

double Pattern::group_cells() const {
    return static_cast<double>((time_weights_.array() > 0).count() *
                               (gone_weights_.array() > 0).count());
}

std::vector<SiteEstimate> Pattern::design(std::size_t all_sites) const {
    std::vector<SiteEstimate> estimates(all_sites);
    for (Index s = 0; s < e_.sites.size(); ++s)
        estimates[site(s)].cells = static_cast<int>(e_.normal(s, s));
    const bool all_complete =
        std::all_of(group_.begin(), group_.end(), [&](Index s) { return complete(s); });
    const auto size = static_cast<double>(group_.size());
    const MatrixXd variances = factorised_.inverse()(group_, group_);
    const VectorXd row_means = variances.rowwise().mean();
    for (std::size_t i = 0; i < group_.size(); ++i) {
        SiteEstimate& estimate = estimates[site(group_[i])];
        estimate.comparable = true;
        const auto place = static_cast<Index>(i);
        const double variance = variances(place, place) - 2 * row_means(place) + row_means.mean();
        if (size > 1) estimate.leans = all_complete ? 1 : variance * group_cells() / (1 - 1 / size);
    }
    return estimates;
}

Eigen::RowVectorXd Pattern::level(const MatrixXd& solution) const {
    return solution.row(0) +
           time_weights_.transpose() * solution.middleRows(1 + e_.sites.size(), e_.times.size()) +
           gone_weights_.transpose() * solution.bottomRows(e_.gones.size());
}

Index Pattern::row_of(Factor factor, int level) const {
    const Levels& levels = factor == kSite ? e_.sites : factor == e_.time ? e_.times : e_.gones;
    const int place = levels.index[static_cast<std::size_t>(level)];
    if (place < 0) return -1;
    if (factor == kSite) return 1 + place;
    return 1 + place + (factor == e_.time ? e_.sites.size() : e_.stay());
}

}  // namespace hearwood::additive
