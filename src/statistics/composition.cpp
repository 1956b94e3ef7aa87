#include "statistics/composition.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace hearwood {

namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

struct Scaled {
    MatrixXd whole, within;  ///< units x columns: as they are, and as residuals within blocks
};

Scaled scaled(const PairTest& test, std::span<const std::vector<double>> columns) {
    const auto units = static_cast<Eigen::Index>(test.layout().classes.size());
    const double df = static_cast<double>(units) - test.layout().block_count;
    Scaled result{MatrixXd(units, columns.size()), MatrixXd(units, columns.size())};
    Eigen::Index kept = 0;
    for (const std::vector<double>& column : columns) {
        const std::vector<double> e = block_residuals(column, test.layout());
        const auto residuals = VectorXd::Map(e.data(), units);
        const double deviation = std::sqrt(residuals.squaredNorm() / df);
        if (!(deviation > 0)) continue;
        result.whole.col(kept) = VectorXd::Map(column.data(), units) / deviation;
        result.within.col(kept) = residuals / deviation;
        ++kept;
    }
    result.whole.conservativeResize(Eigen::NoChange, kept);
    result.within.conservativeResize(Eigen::NoChange, kept);
    return result;
}

/// Sum of K over the pairs of units that the row labels A.
double sum_within_a(const PairTest& test, std::int64_t row, const MatrixXd& k,
                    std::vector<Eigen::Index>& in_a) {
    in_a.clear();
    for (Eigen::Index i = 0; i < k.rows(); ++i)
        if (test.in_a(row, static_cast<std::size_t>(i))) in_a.push_back(i);
    double sum = 0;
    for (const Eigen::Index i : in_a)
        for (const Eigen::Index j : in_a) sum += k(i, j);
    return sum;
}

double f_of(double explained, double total, double df) {
    const double rest = total - explained;
    if (rest <= 1e-14 * total) return std::numeric_limits<double>::infinity();
    return explained / (rest / df);
}

/// p of squares explained, which order the permutations as F does.
double share_of_squares(const std::vector<double>& explained, double total) {
    const double bar = explained.front() - 1e-9 * total;
    const auto hits = std::count_if(explained.begin(), explained.end(),
                                    [bar](double value) { return value >= bar; });
    return static_cast<double>(hits) / static_cast<double>(explained.size());
}

void test_place(const PairTest& test, const MatrixXd& within, double df, Composition& result) {
    const MatrixXd k = within * within.transpose();
    std::vector<double> explained;
    std::vector<Eigen::Index> in_a;
    for (std::int64_t r = 0; r < test.rows(); ++r)
        explained.push_back(sum_within_a(test, r, k, in_a) / test.information());
    result.f = f_of(explained.front(), k.trace(), df);
    result.p = share_of_squares(explained, k.trace());
    result.p_min = test.p_min();
}

/// Labels A of a row as 1, less the share of A in the unit's block.
VectorXd centred_labels(const PairTest& test, std::int64_t row) {
    std::vector<double> labels(test.layout().classes.size());
    for (std::size_t i = 0; i < labels.size(); ++i) labels[i] = test.in_a(row, i);
    const std::vector<double> centred = block_residuals(labels, test.layout());
    return VectorXd::Map(centred.data(), static_cast<Eigen::Index>(centred.size()));
}

/// F of class given block of the lengths that the rows of `gram` (products of residual vectors)
/// have once the row's classes are taken out of them.
double length_f(const PairTest& test, std::int64_t row, const MatrixXd& gram, double df) {
    const VectorXd b = centred_labels(test, row);
    const VectorXd of_b = gram * b / test.information();
    const double both = b.dot(of_b) / test.information();
    std::vector<double> lengths;
    for (Eigen::Index i = 0; i < b.size(); ++i)
        lengths.push_back(
            std::sqrt(std::max(0.0, gram(i, i) - 2 * b(i) * of_b(i) + b(i) * b(i) * both)));
    const std::vector<double> e = block_residuals(lengths, test.layout());
    const auto residuals = VectorXd::Map(e.data(), b.size());
    const double product = b.dot(residuals), total = residuals.squaredNorm();
    if (!(total > 1e-20 * gram.trace())) return 0;
    return f_of(product * product / test.information(), total, df);
}

void test_dispersion(const PairTest& test, const MatrixXd& within, double df, Composition& result) {
    const VectorXd b = centred_labels(test, 0);
    const MatrixXd residuals = within - b * (b.transpose() * within) / test.information();
    const MatrixXd gram = residuals * residuals.transpose();
    std::vector<double> f(static_cast<std::size_t>(test.rows()));
    tbb::parallel_for(std::int64_t{0}, test.rows(),
                      [&](std::int64_t r) { f[r] = length_f(test, r, gram, df); });
    if (!(gram.trace() > 1e-14 * within.squaredNorm())) return;
    result.dispersion_f = f.front();
    const double bar = f.front() * (1 - 1e-9);
    const auto hits =
        std::count_if(f.begin(), f.end(), [bar](double value) { return value >= bar; });
    result.dispersion_p = static_cast<double>(hits) / static_cast<double>(f.size());
}

void add_coordinates(const MatrixXd& whole, Composition& result) {
    const MatrixXd centred = whole.rowwise() - whole.colwise().mean();
    const MatrixXd gower = centred * centred.transpose();
    const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(gower);
    const double total = gower.trace();
    result.axes.assign(static_cast<std::size_t>(gower.rows()), {0, 0});
    for (int axis = 0; axis < 2; ++axis) {
        const Eigen::Index place = gower.rows() - 1 - axis;  // ascending
        const double value = std::max(0.0, solver.eigenvalues()(place));
        VectorXd direction = solver.eigenvectors().col(place) * std::sqrt(value);
        Eigen::Index largest = 0;
        direction.cwiseAbs().maxCoeff(&largest);
        if (direction(largest) < 0) direction = -direction;
        for (Eigen::Index i = 0; i < direction.size(); ++i)
            result.axes[static_cast<std::size_t>(i)][axis] = direction(i);
        (axis == 0 ? result.share_1 : result.share_2) = value / total;
    }
}

}  // namespace

Composition compose(const PairTest& test, std::span<const std::vector<double>> columns) {
    Composition result;
    const Scaled matrix = scaled(test, columns);
    if (matrix.whole.cols() == 0) return result;
    add_coordinates(matrix.whole, result);
    const double df = static_cast<double>(matrix.whole.rows()) - test.layout().block_count - 1;
    if (df <= 0) return result;
    test_place(test, matrix.within, df, result);
    test_dispersion(test, matrix.within, df, result);
    return result;
}

}  // namespace hearwood
