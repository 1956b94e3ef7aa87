// Quarters of an hour of windows, and the values of sites that follow from them: the additive model
// of statistics/additive_model.h over (site, date, quarter), one model a window.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "aggregate/date_cells.h"
#include "aggregate/judged_segments.h"
#include "statistics/additive_model.h"

namespace hearwood {

/// Numbers of the survey's sites when sorted by name: what models number sites by, so that nothing
/// depends on the order of a sheet.
std::vector<int> sites_by_name(const Survey& survey);

/// The cell of a deployment in the column `season`; empty without one.
std::string season_of(const Survey& survey, std::size_t deployment);
/// Where deployments name two or more: each once, by name.
std::set<std::string> seasons_of(const Survey& survey);

/// Takes kept segments as they pass. The quarters of a site are held until no deployment to come
/// can add to them; then they enter the model, which keeps sums.
class WindowCells {
  public:
    WindowCells(const Survey& survey, std::size_t columns);

    void add(const JudgedSegment& kept, int source, std::span<const double> values);
    void end_deployment(std::size_t deployment);

    /// Once, after all deployments: the values of each window.
    std::map<int, AdditiveModel::Fit> finish();

  private:
    struct Open {
        DateCells quarters;
        std::vector<std::size_t> deployments;  ///< whose segments it holds
    };
    bool may_share_a_date(std::size_t a, std::size_t b) const;
    void close(std::size_t site);

    const Survey& survey_;
    std::size_t columns_;
    std::vector<int> site_numbers_;      ///< sites_by_name
    std::set<std::size_t> to_come_;      ///< deployments not yet ended
    std::map<std::size_t, Open> open_;   ///< by site
    std::vector<AdditiveModel> models_;  ///< by window
};

/// Puts a model's values, cells and leans in place of plain means. `fits` holds one a part; rows of
/// other parts are left alone.
void put_model_values(const std::vector<int>& site_numbers,
                      const std::map<int, AdditiveModel::Fit>& fits, std::vector<SiteMean>& means);

/// Fills DateMean::adjusted from the nights of each window's model.
void put_nights(const std::vector<int>& site_numbers, const std::map<int, AdditiveModel::Fit>& fits,
                std::vector<DateMean>& site_windows);

/// The model of site and date for each hour, from the means of site, date and hour.
std::map<int, AdditiveModel::Fit> fit_hours(const std::vector<int>& site_numbers,
                                            std::size_t columns,
                                            const std::vector<DateMean>& site_hours);

}  // namespace hearwood
