#include "contrast/contrast_inputs.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "base/missing.h"
#include "contrast/covariates.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

constexpr int kDawnFrom = -90 / kStepMinutes, kDawnTo = 180 / kStepMinutes;

Unit unit_of(const Site& site, double value) {
    return {site.name, site.stand, site.block, value};
}

ProfileInput profile(const Survey& survey, const std::vector<SiteMean>& means, int column,
                     int first, int last, int unit) {
    ProfileInput input;
    for (int part = first; part < last; ++part) input.steps.push_back(part * unit);
    for (std::size_t s = 0; s < survey.sites.size(); ++s) {
        const Site& site = survey.sites[s];
        input.sites.push_back(site.name);
        input.stands.push_back(site.stand);
        input.blocks.push_back(site.block);
        std::vector<double>& values = input.values.emplace_back();
        for (int part = first; part < last; ++part)
            values.push_back(site_value(means, s, part, column));
    }
    return input;
}

/// A named numeric column, a value a site.
struct SiteColumn {
    std::string name;
    std::vector<double> values;
};

void add_column(std::vector<SiteColumn>& columns, SiteColumn column) {
    const bool any = std::any_of(column.values.begin(), column.values.end(),
                                 [](double value) { return !is_missing(value); });
    if (any) columns.push_back(std::move(column));
}

std::vector<SiteColumn> numeric_columns(const Survey& survey) {
    std::vector<SiteColumn> columns;
    for (const std::string& name : survey.site_columns) {
        if (!is_explanation(name)) continue;
        SiteColumn column{name, {}};
        for (const Site& site : survey.sites)
            column.values.push_back(number_in(site, survey, name).value_or(kMissing));
        add_column(columns, std::move(column));
    }
    for (const std::string& name : survey.deployment_columns) {
        if (!is_explanation(name)) continue;
        const bool taken = std::find(survey.site_columns.begin(), survey.site_columns.end(),
                                     name) != survey.site_columns.end();
        SiteColumn column{taken ? "deployments." + name : name, {}};
        for (std::size_t s = 0; s < survey.sites.size(); ++s)
            column.values.push_back(mean_over_deployments(survey, s, name).value_or(kMissing));
        add_column(columns, std::move(column));
    }
    return columns;
}

/// What class and block leave of both, over the sites that have both.
ResidualPair residual_pair(const Survey& survey, std::vector<double> x, std::vector<double> y) {
    std::vector<std::string> classes, blocks;
    for (std::size_t s = 0; s < survey.sites.size(); ++s) {
        classes.push_back(survey.sites[s].stand);
        blocks.push_back(survey.sites[s].block);
        if (is_missing(x[s]) || is_missing(y[s])) x[s] = y[s] = kMissing;
    }
    return {residuals_of(x, classes, blocks), residuals_of(y, classes, blocks)};
}

/// The steps of a site on a date, of one index.
struct SiteMorning {
    std::size_t site;
    Date date;
    std::vector<TimedValue> values;
};

std::vector<SiteMorning> mornings_of(const SiteValues& values, int column) {
    std::vector<SiteMorning> mornings;
    for (const DateMean& step : values.site_steps) {
        if (mornings.empty() || mornings.back().site != step.site ||
            mornings.back().date != step.date)
            mornings.push_back({step.site, step.date, {}});
        mornings.back().values.push_back({(step.part + 0.5) * kStepMinutes, step.values[column]});
    }
    return mornings;
}

/// The way in which the index moves on most mornings of the survey: one way for all, since the
/// onset of a rise is not to be held against that of a fall.
DawnMove move_of(const std::vector<SiteMorning>& mornings) {
    int lean = 0;
    for (const SiteMorning& morning : mornings) {
        const double rise = lean_at_dawn(morning.values);
        if (!is_missing(rise)) lean += (rise > 0) - (rise < 0);
    }
    return lean < 0 ? DawnMove::down : DawnMove::up;
}

}  // namespace

std::vector<int> contrasted_columns(const SiteValues& values) {
    std::vector<int> columns;
    for (std::size_t c = 0; c < values.columns.size(); ++c)
        if (values.columns[c].kind == Column::Kind::index) columns.push_back(static_cast<int>(c));
    return columns;
}

std::vector<SiteValue> contrast_values(const Survey& survey, const SiteValues& values) {
    std::vector<SiteValue> rows;
    for (const int column : contrasted_columns(values))
        for (std::size_t w = 0; w < values.windows.size(); ++w)
            for (std::size_t s = 0; s < survey.sites.size(); ++s)
                rows.push_back({values.columns[column].name, values.windows[w],
                                unit_of(survey.sites[s], site_value(values.window_means, s,
                                                                    static_cast<int>(w), column))});
    return rows;
}

std::vector<SeasonValue> season_values(const Survey& survey, const SiteValues& values) {
    std::vector<SeasonValue> rows;
    for (const SeasonMeans& season : values.seasons)
        for (const int column : contrasted_columns(values))
            for (std::size_t w = 0; w < values.windows.size(); ++w)
                for (std::size_t s = 0; s < survey.sites.size(); ++s)
                    rows.push_back(
                        {season.name,
                         {values.columns[column].name, values.windows[w],
                          unit_of(survey.sites[s], site_value(season.window_means, s,
                                                              static_cast<int>(w), column))}});
    return rows;
}

ProfileInput hour_profile(const Survey& survey, const SiteValues& values, int column) {
    return profile(survey, values.hours, column, 0, 24, 1);
}

ProfileInput dawn_profile(const Survey& survey, const SiteValues& values, int column) {
    return profile(survey, values.steps, column, kDawnFrom, kDawnTo, kStepMinutes);
}

std::vector<OnsetRow> onset_rows(const Survey& survey, const SiteValues& values) {
    std::vector<OnsetRow> rows;
    for (const int column : contrasted_columns(values)) {
        const std::vector<SiteMorning> mornings = mornings_of(values, column);
        const DawnMove move = move_of(mornings);
        for (const SiteMorning& morning : mornings) {
            const Site& site = survey.sites[morning.site];
            rows.push_back({values.columns[column].name, site.name, site.stand,
                            format_date(morning.date), dawn_onset(morning.values, move)});
        }
    }
    return rows;
}

std::vector<SiteValue> onset_values(const Survey& survey, const std::vector<OnsetRow>& rows) {
    std::map<std::pair<std::string, std::string>, std::pair<double, int>> sums;
    std::vector<std::string> indices;
    for (const OnsetRow& row : rows) {
        if (indices.empty() || indices.back() != row.index) indices.push_back(row.index);
        auto& [sum, count] = sums[{row.index, row.site}];
        if (is_missing(row.result.minutes)) continue;
        sum += row.result.minutes;
        ++count;
    }
    std::vector<SiteValue> values;
    for (const std::string& index : indices) {
        for (const Site& site : survey.sites) {
            const auto [sum, count] = sums[{index, site.name}];
            values.push_back({index, "onset", unit_of(site, count > 0 ? sum / count : kMissing)});
        }
    }
    return values;
}

std::vector<CovariateRow> covariate_rows(const Survey& survey,
                                         const std::vector<SiteValue>& values) {
    const std::vector<SiteColumn> columns = numeric_columns(survey);
    RankCorrelations correlations(survey.contrast.seed);
    std::vector<CovariateRow> rows;
    std::vector<ResidualPair> pairs;
    // Values come in groups of one for each site, in the sheet's order.
    const std::size_t sites = survey.sites.size();
    if (sites == 0) return rows;
    for (std::size_t first = 0; first + sites <= values.size(); first += sites) {
        std::vector<double> of_sites;
        for (std::size_t s = 0; s < sites; ++s) of_sites.push_back(values[first + s].unit.value);
        for (const SiteColumn& column : columns) {
            const ResidualPair& pair =
                pairs.emplace_back(residual_pair(survey, of_sites, column.values));
            rows.push_back({values[first].index, values[first].window, column.name,
                            correlations.of(of_sites, column.values),
                            correlations.of(pair.value, pair.column)});
        }
    }
    const std::vector<double> adjusted = adjusted_over(pairs, survey.contrast.seed);
    for (std::size_t i = 0; i < rows.size(); ++i) rows[i].p_adjusted = adjusted[i];
    return rows;
}

std::vector<DateValue> date_values(const Survey& survey, const SiteValues& values, int column,
                                   int window) {
    std::vector<DateValue> dates;
    for (const DateMean& mean : values.site_windows) {
        if (mean.part != window) continue;
        const Site& site = survey.sites[mean.site];
        dates.push_back({site.name, site.stand, site.block, format_date(mean.date), mean.kept,
                         mean.adjusted[column],
                         mean.variances.empty() ? kMissing : mean.variances[column]});
    }
    return dates;
}

ContrastPlan contrast_plan(const Survey& survey, const std::vector<ListeningResult>& heard) {
    ContrastPlan plan;
    plan.class_a = survey.stands.class_a;
    plan.class_b = survey.stands.class_b;
    plan.primary_index = survey.contrast.primary_index;
    plan.primary_window = survey.contrast.primary_window;
    plan.seed = survey.contrast.seed;
    plan.level = survey.contrast.level;
    if (!plan.primary_index.empty()) plan.matters = survey.contrast.matters;  // it is in its unit
    plan.listening = listening_sentence_of(heard, plan.primary_index);
    return plan;
}

}  // namespace hearwood
