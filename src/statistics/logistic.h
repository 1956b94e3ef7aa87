// Logistic regression with a ridge: the log odds of yes as a weighted sum of a few quantities.
#pragma once

#include <span>
#include <vector>

namespace hearwood {

/// Weights in the quantities' own units.
struct LogisticRule {
    double constant = 0;
    std::vector<double> weights;

    /// The log odds; NaN where a quantity is.
    double score(std::span<const double> quantities) const;
};

/// The weights that maximise sum log p - ridge / 2 sum b^2, b the weights of the quantities once
/// each is brought to mean 0 and deviation 1 (n in the denominator; one that never changes gets
/// weight 0); the constant is free. By Newton's method (Hastie, Tibshirani & Friedman 2009, section
/// 4.4). REQUIRES: rows of one length, without NaN; both answers among the labels; ridge > 0.
LogisticRule fit_logistic(const std::vector<std::vector<double>>& rows,
                          const std::vector<bool>& labels, double ridge);

}  // namespace hearwood
