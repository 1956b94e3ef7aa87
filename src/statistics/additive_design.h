// The design of an additive model: the normal equations of one pattern of present values,
// factorised, and which sites can be compared in it. Internal to additive_model.cpp.
#pragma once

#include <Eigen/Dense>
#include <array>
#include <cstddef>
#include <vector>

#include "statistics/additive_model.h"

namespace hearwood::additive {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

enum Factor : std::size_t { kSite, kDate, kCell };

/// Rows of a design with the levels of each factor counted from 0.
struct Rows {
    std::vector<std::array<int, 3>> levels_of;  ///< by row
    std::array<std::size_t, 3> levels{};
};
Rows counted_from_zero(const std::vector<DesignCell>& where, std::size_t sites,
                       const std::vector<int>& dates, const std::vector<int>& cells);

/// Which levels of a factor occur, and where each stands among them; -1: it does not.
struct Levels {
    std::vector<int> used, index;
    explicit Levels(const std::vector<int>& counts);
    Index size() const { return static_cast<Index>(used.size()); }
};

/// The unknowns that stay are the sites and the smaller of dates and cells ("times"); the larger
/// ("gone") is eliminated.
struct Equations {
    Factor time, gone;
    Levels sites, times, gones;
    MatrixXd normal;       ///< of the unknowns that stay, in that order
    MatrixXd cross;        ///< those against the eliminated ones
    VectorXd gone_counts;  ///< rows of each eliminated level

    /// `present`: which rows take part; null: all.
    Equations(const Rows& rows, const std::vector<bool>* present);
    Index stay() const { return sites.size() + times.size(); }

  private:
    using Counts = std::array<std::vector<int>, 3>;
    static Counts counts(const Rows& rows, const std::vector<bool>* present);
    Equations(const Rows& rows, const std::vector<bool>* present, const Counts& counts);
};

/// A generalised inverse of what stays, and what the design leaves open.
class Factorised {
  public:
    explicit Factorised(const Equations& equations);

    const MatrixXd& inverse() const { return inverse_; }
    /// The difference of two sites is estimable: whatever the design leaves open moves both alike.
    bool comparable(Index a, Index b) const;
    /// The shortest solution (m, what stays, what was eliminated) for each column of sums.
    MatrixXd solve(const MatrixXd& stay_sums, const MatrixXd& gone_sums) const;

  private:
    /// Orthonormal basis of all changes of (m, what stays, what was eliminated) that change no
    /// fitted value.
    MatrixXd open_directions() const;

    const Equations& e_;
    MatrixXd weights_;  ///< cross over the eliminated levels' rows
    MatrixXd open_;     ///< basis of the null space of what stays
    MatrixXd inverse_;
};

/// One pattern of present values: who is comparable, how well, and what a solution says of a site.
/// REQUIRES: a row is present.
class Pattern {
  public:
    Pattern(const Rows& rows, const std::vector<bool>* present);

    /// Estimates without values, a site each.
    std::vector<SiteEstimate> design(std::size_t all_sites) const;

    MatrixXd solve(const MatrixXd& stay_sums, const MatrixXd& gone_sums) const {
        return factorised_.solve(stay_sums, gone_sums);
    }
    /// m + mean of b over the group's dates + mean of g over its cells, of each column of a
    /// solution.
    Eigen::RowVectorXd level(const MatrixXd& solution) const;
    /// The unknown of a level of a factor as a row of a solution; -1: the level does not occur.
    Index row_of(Factor factor, int level) const;

    /// The site has every date and cell of the group. By its own normal equation its value is its
    /// plain mean then, whatever the others have.
    bool complete(Index site) const { return e_.normal(site, site) == group_cells(); }

    const Equations& equations() const { return e_; }
    /// The largest group of comparable sites: places among the equations' sites, ascending.
    const std::vector<Index>& group() const { return group_; }
    std::size_t site(Index place) const {
        return static_cast<std::size_t>(e_.sites.used[static_cast<std::size_t>(place)]);
    }

  private:
    double group_cells() const;  ///< the group's dates times its cells

    Equations e_;
    Factorised factorised_;
    std::vector<Index> group_;
    VectorXd time_weights_, gone_weights_;  ///< shares of the levels in the means over the group's
};

}  // namespace hearwood::additive
