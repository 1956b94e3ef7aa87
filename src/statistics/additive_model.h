// Values of sites that were not recorded at the same times: the additive model of site, date and
// cell of the day,
//
//     y = m + a_site + b_date + g_cell + e,
//
// by least squares, each occupied cell of the design once. The value of a site is m + a_site + mean
// of b over all dates + mean of g over all cells of its group: what it would show had it been
// recorded whenever any site was. Where every site has every date and cell that is the plain mean.
// (Searle 1987, Linear Models for Unbalanced Data: population marginal means; estimability by the
// null space of the normal equations.)
//
// Sites whose difference can be estimated form a group; only the largest group has values (of
// equally large ones that with more occupied cells, then that of the lowest site). Means run over
// the dates and cells at which any site of the group was recorded. Where dates and cells are
// confounded with each other, so that differences between sites are determined but their common
// level is not, the level is that of the solution with the smallest sum of squares of (m, a, b, g).
//
// What is kept grows with occupied cells by 12 bytes and a bit a column, and with nights (site and
// date) by a number a column. A pattern of present values is factorised once, whatever number of
// columns share it: dates or cells, whichever are more, are eliminated exactly, the rest is a dense
// symmetric system.
#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <utility>
#include <vector>

#include "base/missing.h"

namespace hearwood {

/// Where in the design a value stands. Sites count from 0; dates and cells are any numbers.
struct DesignCell {
    int site = 0;
    int date = 0;
    int cell = 0;  ///< the same throughout: the model has no g
    auto operator<=>(const DesignCell&) const = default;
};

struct SiteEstimate {
    double value = kMissing;  ///< NaN unless comparable
    int cells = 0;            ///< occupied ones
    bool comparable = false;  ///< in the largest group
    /// Variance of a_site - mean of a over the group, over what it would be had every site of the
    /// group all its dates and cells: 1 when complete. NaN outside the group, and for a group of
    /// one.
    double leans = kMissing;
};

/// What a site showed on one date, freed of what the date and the cells did everywhere: its value
/// plus the mean residual of its cells. Spread between nights of a site is that of site and date
/// together.
struct SiteNight {
    int site = 0;
    int date = 0;
    std::vector<double>
        values;  ///< a column each; NaN where the site has no value, or the night none
};

namespace additive {
struct Rows;
}

class AdditiveModel {
  public:
    AdditiveModel(std::size_t sites, std::size_t columns);

    /// An occupied cell, each one once: a value a column, NaN where missing. Sums are taken in the
    /// order of the calls: for bytes that do not depend on it let it follow from the content.
    void add(const DesignCell& where, std::span<const double> values);

    struct Fit {
        std::vector<SiteEstimate>
            design;  ///< of the occupied cells, whatever their values; no values
        std::vector<std::vector<SiteEstimate>> columns;  ///< [column][site]
        std::vector<SiteNight> nights;                   ///< by site, date
    };
    Fit fit() const;

  private:
    struct Solved;
    void put_values(const Solved& solved, Fit& fit) const;
    void put_nights(const Solved& solved, const additive::Rows& rows,
                    const std::vector<std::size_t>& nights, Fit& fit) const;

    std::size_t sites_, columns_;
    std::vector<DesignCell> where_;
    std::vector<std::vector<bool>> present_;  ///< [column], parallel to where_
    std::vector<double> offsets_;  ///< of each column: its first value, taken off all for precision
    std::map<int, std::vector<double>> by_site_, by_date_, by_cell_;  ///< a sum a column
    std::map<std::pair<int, int>, std::vector<double>> by_night_;     ///< of site and date
};

}  // namespace hearwood
