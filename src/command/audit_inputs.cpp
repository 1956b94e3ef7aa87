#include "command/audit_inputs.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/missing.h"
#include "index/catalogue.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

void widen(AuditSite& site, const std::string& date) {
    if (site.first_date.empty() || date < site.first_date) site.first_date = date;
    if (site.last_date.empty() || date > site.last_date) site.last_date = date;
}

/// Dates and hours as recorded; the sheet's dates where nothing is recorded yet.
void add_times(AuditSite& site, const Deployment& deployment, const DeploymentCoverage* coverage,
               const DeploymentSound* sound) {
    bool recorded = false;
    for (const HourCoverage& hour : coverage ? coverage->hours : std::vector<HourCoverage>()) {
        if (hour.present <= 0) continue;
        recorded = true;
        widen(site, format_date(hour.date));
        if (!sound) site.hour_minutes[static_cast<std::size_t>(hour.hour)] += hour.usable;
    }
    if (sound)
        for (std::size_t hour = 0; hour < 24; ++hour)
            site.hour_minutes[hour] += sound->hour_minutes[hour];
    if (recorded) return;
    if (sound && sound->possible > 0) {
        widen(site, format_date(sound->first));
        widen(site, format_date(sound->last));
        return;
    }
    for (const auto& time : {deployment.start, deployment.end})
        if (time) widen(site, format_date(std::chrono::floor<std::chrono::days>(*time)));
}

/// The quietest of a site's recorders: its floor is what the site's quiet minutes show.
void add_sound(AuditSite& site, const DeploymentSound& sound) {
    if (!is_missing(sound.quiet_level_dbfs) && !(site.noise_floor_dbfs <= sound.quiet_level_dbfs))
        site.noise_floor_dbfs = sound.quiet_level_dbfs;
    for (const double rate : sound.sample_rates)
        if (std::find(site.sample_rates_hz.begin(), site.sample_rates_hz.end(), rate) ==
            site.sample_rates_hz.end())
            site.sample_rates_hz.push_back(rate);
}

AuditSite audit_site(const Survey& survey, std::size_t index, const SiteValues* values,
                     std::span<const DeploymentCoverage> coverages) {
    const Site& sheet = survey.sites[index];
    AuditSite site;
    site.site = sheet.name;
    site.stand = sheet.stand;
    site.block = sheet.block;
    site.trail = cell_in(sheet, survey, "trail");
    site.latitude = sheet.latitude;
    site.longitude = sheet.longitude;
    site.elevation_m = number_in(sheet, survey, "elevation_m").value_or(kMissing);
    for (std::size_t i = 0; i < survey.deployments.size(); ++i) {
        const Deployment& deployment = survey.deployments[i];
        if (deployment.site != index) continue;
        if (!deployment.recorder.empty()) site.recorders.push_back(deployment.recorder);
        if (deployment.gain_db) site.gains_db.push_back(*deployment.gain_db);
        if (deployment.height_m) site.heights_m.push_back(*deployment.height_m);
        const auto coverage = std::find_if(coverages.begin(), coverages.end(),
                                           [&](const auto& c) { return c.deployment == i; });
        const DeploymentSound* sound = values ? &values->deployments[i] : nullptr;
        add_times(site, deployment, coverage == coverages.end() ? nullptr : &*coverage, sound);
        if (sound) add_sound(site, *sound);
    }
    return site;
}

/// The user's numeric columns; those that the audit knows by name are left to it.
std::vector<AuditColumn> audit_columns(const Survey& survey) {
    const std::set<std::string> known = {"site",        "latitude",           "longitude",
                                         "elevation_m", survey.stands.factor, survey.stands.block};
    std::vector<AuditColumn> columns;
    for (const std::string& name : survey.site_columns) {
        if (known.contains(name)) continue;
        AuditColumn column{name, {}};
        bool any = false;
        for (const Site& site : survey.sites) {
            const auto value = number_in(site, survey, name);
            column.values.push_back(value.value_or(kMissing));
            any = any || value;
        }
        if (any) columns.push_back(std::move(column));
    }
    return columns;
}

}  // namespace

std::vector<Finding> audit_survey(const Survey& survey, const SiteValues* values,
                                  std::span<const DeploymentCoverage> coverages) {
    std::vector<AuditSite> sites;
    for (std::size_t i = 0; i < survey.sites.size(); ++i)
        sites.push_back(audit_site(survey, i, values, coverages));
    std::vector<std::string> gain_indices;
    for (const Column& column : index_columns(survey.measure))
        if (column.depends_on_gain && column.kind == Column::Kind::index)
            gain_indices.push_back(column.name);
    AuditSettings settings;
    settings.class_a = survey.stands.class_a;
    settings.class_b = survey.stands.class_b;
    settings.listening_distance_m = survey.stands.listening_distance_m;
    settings.seed = survey.contrast.seed;
    return audit_design(sites, audit_columns(survey), gain_indices, settings);
}

}  // namespace hearwood
