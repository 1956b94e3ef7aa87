// What numbers of the sites do beside the class: the contrast adjusted for declared ones, and the
// slope along a gradient (adjusted.csv, gradient.csv).
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "base/table.h"
#include "contrast/contrast.h"

namespace hearwood {

/// A named number of the sites; sites without one are not in it.
struct SiteNumbers {
    std::string name;
    std::map<std::string, double> of_site;
};

inline constexpr std::size_t kMostAdjusted = 2;
inline constexpr int kLeastFreedom = 4;
inline constexpr double kMostInflation = 10;

struct AdjustedRow {
    std::string index, window;
    double difference = kMissing;  ///< coefficient of class in the model block + columns + class
    double ci_low = kMissing, ci_high = kMissing;
    double p = kMissing;
    std::string reason;  ///< why there are no numbers, or which sites lack a column; else empty
};

/// The contrast of the declared pair given the columns (statistics/partial.h), one row an (index,
/// window). Approximate. No numbers below 4 residual degrees of freedom, where a column does not
/// vary within blocks, or where the class is inflated more than tenfold by the columns.
std::vector<AdjustedRow> adjusted_table(std::span<const SiteValue> values,
                                        std::span<const SiteNumbers> columns,
                                        const ContrastPlan& plan);

TableOf<AdjustedRow> adjusted_table();
std::string adjusted_csv(std::span<const AdjustedRow> rows);

/// The row in a sentence that says it is approximate.
std::string adjusted_in_words(const AdjustedRow& row, std::span<const SiteNumbers> columns,
                              const ContrastPlan& plan);

struct GradientRow {
    std::string index, window;
    double slope = kMissing, ci_low = kMissing, ci_high = kMissing, p = kMissing;
    /// The same given the class, by Freedman & Lane; empty where class and block leave nothing of
    /// the gradient, or fewer than 4 degrees of freedom.
    double slope_given_class = kMissing, p_given_class = kMissing;
    double p_adjusted = kMissing;  ///< step-down max-t over the secondary rows; the primary's p
    Role role = Role::secondary;
    std::string reason;  ///< why there are no numbers; not a column
};

/// Slopes on the column over all sites that have it, whatever their class, within blocks
/// (statistics/gradient.h).
std::vector<GradientRow> gradient_table(std::span<const SiteValue> values, const SiteNumbers& x,
                                        const ContrastPlan& plan);

/// The row in a sentence: the slope, and whether it tells more than the class.
std::string gradient_in_words(const GradientRow& row, const SiteNumbers& x,
                              const ContrastPlan& plan);

TableOf<GradientRow> gradient_table();
std::string gradient_csv(std::span<const GradientRow> rows);

}  // namespace hearwood
