#include "statistics/logistic.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace hearwood {
namespace {

constexpr int kMostSteps = 200;
constexpr double kLongestStep = 3;  ///< of a weight: far from the optimum Newton overshoots
constexpr double kEnough = 1e-10;

struct Standardised {
    Eigen::MatrixXd values;  ///< a row a case; the last column is 1
    Eigen::VectorXd middle, spread;
};

Standardised standardised(const std::vector<std::vector<double>>& rows) {
    const auto count = static_cast<Eigen::Index>(rows.size());
    const auto width = static_cast<Eigen::Index>(rows.front().size());
    Standardised z{Eigen::MatrixXd::Ones(count, width + 1), Eigen::VectorXd(width),
                   Eigen::VectorXd(width)};
    for (Eigen::Index k = 0; k < width; ++k) {
        for (Eigen::Index i = 0; i < count; ++i)
            z.values(i, k) = rows[static_cast<std::size_t>(i)][static_cast<std::size_t>(k)];
        auto column = z.values.col(k).array();
        z.middle[k] = column.mean();
        column -= z.middle[k];
        z.spread[k] = std::sqrt(column.square().mean());
        if (z.spread[k] > 1e-12 * std::max(1.0, std::abs(z.middle[k])))
            column /= z.spread[k];
        else
            column = z.spread[k] = 0;
    }
    return z;
}

}  // namespace

double LogisticRule::score(std::span<const double> quantities) const {
    double sum = constant;
    for (std::size_t k = 0; k < weights.size(); ++k) sum += weights[k] * quantities[k];
    return sum;
}

LogisticRule fit_logistic(const std::vector<std::vector<double>>& rows,
                          const std::vector<bool>& labels, double ridge) {
    const Standardised z = standardised(rows);
    const Eigen::Index width = z.middle.size();
    Eigen::VectorXd yes(static_cast<Eigen::Index>(labels.size()));
    for (Eigen::Index i = 0; i < yes.size(); ++i) yes[i] = labels[static_cast<std::size_t>(i)];
    Eigen::VectorXd penalty = Eigen::VectorXd::Constant(width + 1, ridge);
    penalty[width] = 0;
    Eigen::VectorXd b = Eigen::VectorXd::Zero(width + 1);
    for (int step = 0; step < kMostSteps; ++step) {
        const Eigen::ArrayXd p = 1 / (1 + (-(z.values * b).array()).exp());
        const Eigen::VectorXd gradient =
            z.values.transpose() * (p.matrix() - yes) + penalty.cwiseProduct(b);
        Eigen::MatrixXd curvature =
            z.values.transpose() * (p * (1 - p)).matrix().asDiagonal() * z.values;
        curvature.diagonal() += penalty;
        const Eigen::VectorXd change = curvature.ldlt().solve(gradient);
        const double longest = change.cwiseAbs().maxCoeff();
        b -= change * std::min(1.0, kLongestStep / longest);
        if (longest < kEnough) break;
    }
    LogisticRule rule;
    rule.constant = b[width];
    for (Eigen::Index k = 0; k < width; ++k) {
        const double weight = z.spread[k] > 0 ? b[k] / z.spread[k] : 0;
        rule.weights.push_back(weight);
        rule.constant -= weight * z.middle[k];
    }
    return rule;
}

}  // namespace hearwood
