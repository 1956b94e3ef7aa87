// The contrast between two stand classes: exact permutation test within blocks, interval by
// inversion, effect sizes, step-down max-t over the secondary outcomes (docs/statistics.md). Pure
// data in, results out; NaN stands for 'missing' in memory.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/missing.h"
#include "base/table.h"
#include "statistics/ending.h"
#include "statistics/permutation.h"

namespace hearwood {

/// A site in one comparison. The site is the replicate: never more than one Unit a site.
struct Unit {
    std::string site;
    std::string stand;  ///< its class
    std::string block;  ///< empty everywhere: no blocks
    double value = kMissing;
};

/// A row of the table that contrast_table() takes: one site's value of one index in one window.
struct SiteValue {
    std::string index, window;
    Unit unit;
};

/// What the survey declares before the data are seen.
struct ContrastPlan {
    std::string class_a, class_b;               ///< the difference is A minus B
    std::string primary_index, primary_window;  ///< both empty: none declared
    std::uint64_t seed = 1;
    double level = 0.95;  ///< of the interval, inside (0, 1)
    /// Smallest difference that matters: of the primary outcome, of all where none is declared.
    std::optional<double> matters;
    PermutationLimits limits;  ///< as documented, unless a simulation needs a cheaper test
    std::string listening;     ///< remark of the listening check, a sentence; empty: none was made
    std::string beside_even;   ///< sentences on levels and path; empty: nothing to say
    std::string confounder;    ///< what the audit found to go along with the stand; empty: nothing
};

enum class Role { primary, secondary };

/// A row of contrasts.csv. Where the test is empty (fewer than two sites in a class) every number
/// from mean_a to p_adjusted is NaN and permutations is 0.
struct ContrastRow {
    std::string index, window, class_a, class_b;
    int n_a = 0, n_b = 0;  ///< sites that took part: value present, block not dropped
    double mean_a = kMissing, mean_b = kMissing;  ///< plain means
    double difference = kMissing;                 ///< T; with unbalanced blocks not mean_a - mean_b
    double ci_low = kMissing, ci_high = kMissing;  ///< -inf or inf when unbounded
    double hedges_g = kMissing;                    ///< NaN too when the pooled deviation is 0
    double cliffs_delta = kMissing;
    double p = kMissing, p_min = kMissing;
    std::int64_t permutations = 0;   ///< enumerated ones, or random draws when !exact
    double p_unequal = kMissing;     ///< p that bears unequal spread (statistics/unequal.h)
    double spread_ratio = kMissing;  ///< larger over smaller deviation of the classes
    /// Step-down max-t over the secondary rows, NaN where a site deviation is 0; the primary row's
    /// is its p.
    double p_adjusted = kMissing;
    Role role = Role::secondary;
    std::string verdict;
    std::optional<Ending> ending;  ///< what the interval says of the plan's `matters`
    int family = 1;                ///< tested rows that share the adjustment; 1 for the primary

    // Not columns: what the verdict and the screen need besides.
    bool exact = true;  ///< all permutations, not random draws
    bool has_blocks = false;
    bool unequal_counts = false;              ///< of the classes, in the whole or in a block
    std::vector<std::string> dropped_blocks;  ///< blocks with one class left
    std::vector<std::string> missing_sites;   ///< sites of A or B without a value
    double level = 0.95;
    std::string confounder;     ///< of the plan
    double matters = kMissing;  ///< asked of this row; NaN: not
    Interval narrow;            ///< at 2 level - 1, where `matters` is
    bool tested() const { return !is_missing(p); }
    /// The p that this row alone is decided by: with unequal counts the larger of p and p_unequal.
    double deciding_p() const { return unequal_counts && p_unequal > p ? p_unequal : p; }
    /// The p that counts for the role, and the deciding one, reach 1 - level.
    bool significant() const {
        return tested() && reaches(p_adjusted, level) && reaches(deciding_p(), level);
    }
    bool unbounded() const { return tested() && !reaches(p_min, level); }
};

/// One contrast of two classes; units of other classes take no part. p_adjusted and verdict are
/// left open.
ContrastRow contrast_units(std::span<const Unit> units, const ContrastPlan& plan);

/// All contrasts of the declared pair, one row for each (index, window) in order of first
/// appearance, with roles, adjusted p and verdicts.
std::vector<ContrastRow> contrast_table(std::span<const SiteValue> values,
                                        const ContrastPlan& plan);

/// Every pair of classes but the declared one, when there are more than two (file pairs.csv,
/// columns of contrasts.csv): all secondary, a family within each pair. Classes in order of first
/// appearance.
std::vector<ContrastRow> other_pairs(std::span<const SiteValue> values, const ContrastPlan& plan);

/// The classes of the values, in order of first appearance.
std::vector<std::string> classes_in(std::span<const SiteValue> values);

/// The columns of contrasts.csv, which other tables of contrasts share under names of their own.
TableOf<ContrastRow> contrasts_table(
    const std::string& file = "contrasts.csv", const std::string& title = "contrasts",
    const std::string& description =
        "A row is an index and a window: class A against class B, sites as replicates.");
std::string contrasts_csv(std::span<const ContrastRow> rows);

}  // namespace hearwood
