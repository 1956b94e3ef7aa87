#include "contrast/audit_inputs.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "aggregate/applied_steps.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/covariates.h"
#include "index/sound_event.h"
#include "survey/columns.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

using Kind = AuditNumber::Kind;

void insert_once(std::vector<std::string>& sorted, const std::string& text) {
    const auto place = std::lower_bound(sorted.begin(), sorted.end(), text);
    if (place == sorted.end() || *place != text) sorted.insert(place, text);
}

/// Every date of the sheet's span: what is planned, where nothing is recorded yet.
void add_planned_dates(AuditSite& site, const Deployment& deployment) {
    if (!deployment.start || !deployment.end) return;
    const auto date_of = [](LocalTime time) { return std::chrono::floor<std::chrono::days>(time); };
    const Date last = date_of(*deployment.end - std::chrono::milliseconds(1));
    for (Date date = date_of(*deployment.start); date <= last; date += std::chrono::days(1))
        insert_once(site.dates, format_date(date));
}

/// Dates and hours as kept, else as recorded, else as planned.
void add_times(AuditSite& site, const Deployment& deployment, const DeploymentCoverage* coverage,
               const DeploymentSound* sound) {
    if (sound && !sound->dates.empty()) {
        for (const Date date : sound->dates) insert_once(site.dates, format_date(date));
        for (std::size_t hour = 0; hour < 24; ++hour)
            site.hour_minutes[hour] += sound->hour_minutes[hour];
        return;
    }
    bool recorded = false;
    if (coverage)
        for (const HourCoverage& hour : coverage->hours) {
            if (hour.present <= 0) continue;
            recorded = true;
            insert_once(site.dates, format_date(hour.date));
            site.hour_minutes[static_cast<std::size_t>(hour.hour)] += hour.usable;
        }
    if (!recorded) add_planned_dates(site, deployment);
}

/// The quietest of a site's recorders: its floor is what the site's quiet minutes show.
void add_sound(AuditSite& site, const DeploymentSound& sound) {
    if (!std::isnan(sound.quiet_level_dbfs) && !(site.noise_floor_dbfs <= sound.quiet_level_dbfs))
        site.noise_floor_dbfs = sound.quiet_level_dbfs;
    for (const double rate : sound.sample_rates)
        if (std::find(site.sample_rates_hz.begin(), site.sample_rates_hz.end(), rate) ==
            site.sample_rates_hz.end())
            site.sample_rates_hz.push_back(rate);
}

/// From this on a value is more of a forecast than of a record.
constexpr double kLeans = 2;

/// Of the primary outcome's window, where one is declared: a sparse schedule leans somewhere
/// always.
void add_design(AuditSite& site, std::size_t index, const std::string& primary_window,
                const SiteValues& values) {
    for (const SiteMean& mean : values.window_means) {
        if (mean.site != index || mean.kept == 0) continue;
        const std::string& window = values.windows[static_cast<std::size_t>(mean.part)];
        if (!primary_window.empty() && window != primary_window) continue;
        if (!mean.comparable) site.incomparable.push_back(window);
        if (mean.leans >= kLeans) site.leaning.emplace_back(window, mean.leans);
    }
}

void add_gap(AuditSite& site, std::size_t index, const SiteValues& values) {
    std::set<Date> dates;
    for (const DateMean& row : values.site_hours)
        if (row.site == index && row.kept > 0) dates.insert(row.date);
    const Date* last = nullptr;
    for (const Date& date : dates) {
        const int days = last ? static_cast<int>((date - *last).count()) : 0;
        if (days > site.gap_days) {
            site.gap_days = days;
            site.gap_from = format_date(*last);
            site.gap_to = format_date(date);
        }
        last = &date;
    }
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
    if (values) add_design(site, index, survey.contrast.primary_window, *values);
    if (values && values->seasons.empty()) add_gap(site, index, *values);
    for (std::size_t i = 0; i < survey.deployments.size(); ++i) {
        const Deployment& deployment = survey.deployments[i];
        if (deployment.site != index) continue;
        if (!deployment.recorder.empty()) site.recorders.push_back(deployment.recorder);
        const auto coverage = std::find_if(coverages.begin(), coverages.end(),
                                           [&](const auto& c) { return c.deployment == i; });
        const DeploymentSound* sound = values ? &values->deployments[i] : nullptr;
        add_times(site, deployment, coverage == coverages.end() ? nullptr : &*coverage, sound);
        if (sound) add_sound(site, *sound);
    }
    return site;
}

/// Where a site lies and how well a clock ran have checks of their own.
bool is_held_against_classes(const std::string& column, const StandSettings& stands) {
    return column != "trail_m" && is_explanation(column) && column != stands.factor &&
           column != stands.block;
}

Kind kind_of(const std::string& column) {
    if (column == "gain_db") return Kind::gain;
    if (column == "height_m") return Kind::height;
    if (column == "elevation_m") return Kind::elevation;
    return Kind::column;
}

AuditNumber number_of(const Survey& survey, const std::string& column, const std::string& name,
                      std::span<const KnownColumn> known_columns) {
    const KnownColumn* known = find_column(known_columns, column);
    AuditNumber number;
    number.name = name;
    number.unit = known ? known->unit : "";
    number.kind = kind_of(column);
    const auto& parts = survey.stands.part_of_stand;
    number.part_of_stand = std::find(parts.begin(), parts.end(), name) != parts.end();
    return number;
}

void add_number(std::vector<AuditNumber>& numbers, AuditNumber number) {
    if (std::any_of(number.values.begin(), number.values.end(),
                    [](double value) { return !is_missing(value); }))
        numbers.push_back(std::move(number));
}

/// A number for each band of the background.
void add_backgrounds(std::vector<AuditNumber>& numbers, const SiteValues& values) {
    std::size_t bands = 0;
    for (const std::vector<double>& site : values.background_db)
        bands = std::max(bands, site.size());
    for (std::size_t band = 0; band < bands; ++band) {
        const double low = static_cast<double>(band) * EventGrid::kBackgroundBandHz;
        AuditNumber number{"background " + format_number(low) + " to " +
                               format_number(low + EventGrid::kBackgroundBandHz) + " Hz",
                           "dBFS",
                           Kind::background,
                           false,
                           {}};
        for (const std::vector<double>& site : values.background_db)
            number.values.push_back(band < site.size() ? site[band] : kMissing);
        add_number(numbers, std::move(number));
    }
}

std::vector<AuditNumber> audit_numbers(const Survey& survey, const SiteValues* values) {
    std::vector<AuditNumber> numbers;
    for (const std::string& column : survey.site_columns) {
        if (!is_held_against_classes(column, survey.stands)) continue;
        AuditNumber number = number_of(survey, column, column, known_site_columns());
        for (const Site& site : survey.sites)
            number.values.push_back(number_in(site, survey, column).value_or(kMissing));
        add_number(numbers, std::move(number));
    }
    for (const std::string& column : survey.deployment_columns) {
        if (!is_held_against_classes(column, survey.stands)) continue;
        const bool taken = std::find(survey.site_columns.begin(), survey.site_columns.end(),
                                     column) != survey.site_columns.end();
        AuditNumber number = number_of(survey, column, taken ? "deployments." + column : column,
                                       known_deployment_columns());
        for (std::size_t site = 0; site < survey.sites.size(); ++site)
            number.values.push_back(mean_over_deployments(survey, site, column).value_or(kMissing));
        add_number(numbers, std::move(number));
    }
    if (!values) return numbers;
    if (!values->l90_dbfs.empty())
        add_number(numbers, {"l90_dbfs", "dBFS", Kind::level, false, values->l90_dbfs});
    add_backgrounds(numbers, *values);
    return numbers;
}

}  // namespace

Audit audit_survey(const Survey& survey, const SiteValues* values,
                   std::span<const DeploymentCoverage> coverages) {
    std::vector<AuditSite> sites;
    for (std::size_t i = 0; i < survey.sites.size(); ++i)
        sites.push_back(audit_site(survey, i, values, coverages));
    AuditSettings settings;
    settings.class_a = survey.stands.class_a;
    settings.class_b = survey.stands.class_b;
    settings.listening_distance_m = survey.stands.listening_distance_m;
    Audit audit = audit_design(sites, audit_numbers(survey, values), settings);
    if (values) {
        for (Finding& same : findings_of(values->same_sounds, survey))
            audit.findings.push_back(std::move(same));
        audit.findings.insert(audit.findings.end(), values->evidence.begin(),
                              values->evidence.end());
        worst_first(audit.findings);
    }
    std::vector<Finding> wrong = findings_of_wrong_rows(survey);
    audit.findings.insert(audit.findings.begin(), wrong.begin(), wrong.end());
    for (Finding& decision : findings_of_decisions(survey))
        audit.findings.push_back(std::move(decision));
    return audit;
}

}  // namespace hearwood
