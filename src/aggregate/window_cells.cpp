#include "aggregate/window_cells.h"

#include <algorithm>
#include <numeric>

namespace hearwood {

namespace {

// Quarters lie between -48 (12 hours before an event) and 144 (36 hours after it).
constexpr int kQuarters = 256, kBefore = 64;

int part_of(int window, int quarter) {
    return window * kQuarters + quarter + kBefore;
}

}  // namespace

std::vector<int> sites_by_name(const Survey& survey) {
    std::vector<std::size_t> order(survey.sites.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return survey.sites[a].name < survey.sites[b].name;
    });
    std::vector<int> site_numbers(order.size());
    for (std::size_t i = 0; i < order.size(); ++i) site_numbers[order[i]] = static_cast<int>(i);
    return site_numbers;
}

std::string season_of(const Survey& survey, std::size_t deployment) {
    return std::string(cell_in(survey.deployments[deployment], survey, "season"));
}

std::set<std::string> seasons_of(const Survey& survey) {
    std::set<std::string> names;
    for (std::size_t d = 0; d < survey.deployments.size(); ++d)
        if (const std::string name = season_of(survey, d); !name.empty()) names.insert(name);
    return names.size() < 2 ? std::set<std::string>{} : names;
}

WindowCells::WindowCells(const Survey& survey, std::size_t columns)
    : survey_(survey),
      columns_(columns),
      site_numbers_(sites_by_name(survey)),
      models_(survey.windows.size(), AdditiveModel(survey.sites.size(), columns)) {
    for (std::size_t i = 0; i < survey.deployments.size(); ++i) to_come_.insert(i);
}

void WindowCells::add(const JudgedSegment& kept, int source, std::span<const double> values) {
    const DayPart& part = kept.place.part;
    if (part.window < 0) return;
    Open& open = open_.try_emplace(kept.site, Open{DateCells(columns_, false), {}}).first->second;
    if (open.deployments.empty() || open.deployments.back() != kept.deployment)
        open.deployments.push_back(kept.deployment);
    open.quarters.add({kept.site, part.window_date, part_of(part.window, part.quarter), source},
                      true, values);
}

/// Deployments that begin and end on known, separate dates do not; a night belongs to its evening,
/// so that a day lies between.
bool WindowCells::may_share_a_date(std::size_t a, std::size_t b) const {
    const Deployment &x = survey_.deployments[a], &y = survey_.deployments[b];
    if (!survey_.screen.outside_excludes || !x.start || !x.end || !y.start || !y.end) return true;
    constexpr std::chrono::days kBetween(2);
    return *x.start < *y.end + kBetween && *y.start < *x.end + kBetween;
}

void WindowCells::end_deployment(std::size_t deployment) {
    to_come_.erase(deployment);
    const std::size_t site = survey_.deployments[deployment].site;
    const auto open = open_.find(site);
    if (open == open_.end()) return;
    for (const std::size_t other : to_come_)
        if (survey_.deployments[other].site == site)
            for (const std::size_t held : open->second.deployments)
                if (may_share_a_date(held, other)) return;
    close(site);
}

void WindowCells::close(std::size_t site) {
    const auto open = open_.find(site);
    for (const DateMean& row : open->second.quarters.finish())
        models_[static_cast<std::size_t>(row.part / kQuarters)].add(
            {site_numbers_[row.site], day_number(row.date), row.part % kQuarters}, row.values);
    open_.erase(open);
}

std::map<int, AdditiveModel::Fit> WindowCells::finish() {
    while (!open_.empty()) close(open_.begin()->first);
    std::map<int, AdditiveModel::Fit> fits;
    for (std::size_t w = 0; w < models_.size(); ++w)
        fits.emplace(static_cast<int>(w), models_[w].fit());
    return fits;
}

void put_model_values(const std::vector<int>& site_numbers,
                      const std::map<int, AdditiveModel::Fit>& fits, std::vector<SiteMean>& means) {
    for (SiteMean& mean : means) {
        const auto fit = fits.find(mean.part);
        if (fit == fits.end()) continue;
        const auto site = static_cast<std::size_t>(site_numbers[mean.site]);
        const SiteEstimate& design = fit->second.design[site];
        mean.cells = design.cells;
        mean.leans = design.leans;
        mean.comparable = design.comparable;
        for (std::size_t c = 0; c < mean.values.size(); ++c)
            mean.values[c] = fit->second.columns[c][site].value;
    }
}

void put_nights(const std::vector<int>& site_numbers, const std::map<int, AdditiveModel::Fit>& fits,
                std::vector<DateMean>& site_windows) {
    for (DateMean& row : site_windows) {
        const std::vector<SiteNight>& nights = fits.at(row.part).nights;
        const std::pair wanted(site_numbers[row.site], day_number(row.date));
        const auto night = std::lower_bound(
            nights.begin(), nights.end(), wanted,
            [](const SiteNight& n, const auto& key) { return std::pair(n.site, n.date) < key; });
        if (night != nights.end() && std::pair(night->site, night->date) == wanted)
            row.adjusted = night->values;
        else
            row.adjusted.assign(row.values.size(), kMissing);
    }
}

std::map<int, AdditiveModel::Fit> fit_hours(const std::vector<int>& site_numbers,
                                            std::size_t columns,
                                            const std::vector<DateMean>& site_hours) {
    std::map<int, AdditiveModel> models;
    for (const DateMean& row : site_hours)
        if (row.kept > 0)
            models.try_emplace(row.part, site_numbers.size(), columns)
                .first->second.add({site_numbers[row.site], day_number(row.date), 0}, row.values);
    std::map<int, AdditiveModel::Fit> fits;
    for (const auto& [hour, model] : models) fits.emplace(hour, model.fit());
    return fits;
}

}  // namespace hearwood
