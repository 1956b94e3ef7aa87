// Units made ready for a test: which of them take part, their classes and blocks as numbers, and
// their values as residuals within blocks. Internal to this folder.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"
#include "contrast/relabel.h"

namespace hearwood {

struct ReadyUnits {
    std::vector<Unit> units;  ///< sorted by site, so that the order of rows in a file cannot matter
    Layout layout;            ///< classes numbered as in `classes`
    bool has_blocks = false;
    std::vector<std::string> dropped_blocks;  ///< one class left; sorted
    std::vector<std::string> missing_sites;   ///< sorted
    std::vector<int> counts;                  ///< units a class
};

/// Keeps units of the named classes that have a value, then drops blocks with one class left.
ReadyUnits ready_units(std::span<const Unit> units, std::span<const std::string> classes);

/// Values minus their block's mean. A constant block gives exact zeros.
std::vector<double> block_residuals(std::span<const double> values, const Layout& layout);

std::vector<double> values_of(std::span<const Unit> units);

/// Plain mean of the units of one class.
double class_mean(const ReadyUnits& ready, int class_number);

/// Sum over blocks of nA nB / (nA + nB), for two classes. With residuals e the class effect of the
/// additive block model is T = (sum of e over A) / that sum: w_b is proportional to nA nB / (nA +
/// nB), so the weighted block differences collapse to it.
double information(const Layout& layout);

/// T of two classes.
double difference_of(const ReadyUnits& ready);

/// Variance of the values that the additive model of block and class leaves over (without blocks
/// the pooled one within two classes). REQUIRES: units of both classes. NaN without a degree of
/// freedom.
double residual_variance(const ReadyUnits& ready);

/// Every block has as many units of class 0 as of class 1.
bool balanced(const Layout& layout);

}  // namespace hearwood
