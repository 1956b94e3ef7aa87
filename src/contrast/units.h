// Units made ready for a test: which of them take part, their classes and blocks as numbers, and
// their values as residuals within blocks; and values grouped by what is tested. Internal to this
// folder.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"
#include "statistics/pair_test.h"

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

std::vector<double> values_of(std::span<const Unit> units);

/// Plain mean of the units of one class.
double class_mean(const ReadyUnits& ready, int class_number);

/// T of two classes.
double difference_of(const ReadyUnits& ready);

/// Variance of the values that the additive model of block and class leaves over (without blocks
/// the pooled one within two classes). REQUIRES: units of both classes. NaN without a degree of
/// freedom.
double residual_variance(const ReadyUnits& ready);

/// One (index, window) with the values of its sites.
struct Outcome {
    std::string index, window;
    std::vector<Unit> units;
};

/// In order of first appearance.
std::vector<Outcome> outcomes_of(std::span<const SiteValue> values);

/// The outcome's values of the sites, in their order; NaN where a site has none.
std::vector<double> values_at(std::span<const Unit> sites, const Outcome& outcome);

}  // namespace hearwood
