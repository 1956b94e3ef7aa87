// From what a survey declares and its averages to what the contrast layer takes, which knows
// nothing of surveys.
#pragma once

#include <string>
#include <vector>

#include "aggregate/site_values.h"
#include "contrast/contrast.h"
#include "contrast/covariates.h"
#include "contrast/listening.h"
#include "contrast/onset.h"
#include "contrast/profile.h"
#include "contrast/seasons.h"
#include "contrast/variance.h"
#include "survey/survey.h"

namespace hearwood {

/// The values of each season, where there are several.
std::vector<SeasonValue> season_values(const Survey& survey, const SiteValues& values);

/// Indices into SiteValues::columns of what is contrasted: the indices; levels are not.
std::vector<int> contrasted_columns(const SiteValues& values);

/// Every site's value of every index in every window, sites of all classes; NaN where there is
/// none. Ordered by index, window, site.
std::vector<SiteValue> contrast_values(const Survey& survey, const SiteValues& values);

/// Site values of one index along the hours of the day.
ProfileInput hour_profile(const Survey& survey, const SiteValues& values, int column);
/// The same in steps of five minutes from sunrise, 90 minutes before it to 180 after.
ProfileInput dawn_profile(const Survey& survey, const SiteValues& values, int column);

/// Onset of the dawn chorus by each index, a row for each site and date that has recordings near
/// dawn.
std::vector<OnsetRow> onset_rows(const Survey& survey, const SiteValues& values);
/// A site's mean onset over dates as a value of window "onset", to be contrasted like any other.
std::vector<SiteValue> onset_values(const Survey& survey, const std::vector<OnsetRow>& rows);

/// Every index and window against every numeric column of the two sheets; a site's deployments are
/// averaged. A deployment column whose name the site sheet has too is called "deployments.NAME".
std::vector<CovariateRow> covariate_rows(const Survey& survey,
                                         const std::vector<SiteValue>& values);

/// The dates of every site in one window.
std::vector<DateValue> date_values(const Survey& survey, const SiteValues& values, int column,
                                   int window);

/// Classes, primary outcome, seed and level of survey.toml, and the remark of the listening check
/// (nothing heard: empty).
ContrastPlan contrast_plan(const Survey& survey, const std::vector<ListeningResult>& heard = {});

}  // namespace hearwood
