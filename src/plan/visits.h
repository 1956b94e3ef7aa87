// What is planned where and when: one visit a deployment, and one for each site that has none yet.
#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "survey/day_part.h"
#include "survey/survey.h"

namespace hearwood {

struct Visit {
    std::size_t site = 0;  ///< into Survey::sites
    std::optional<std::size_t>
        deployment;  ///< into Survey::deployments; nothing: not in the sheet yet
    std::chrono::local_days first, last;  ///< dates out, both included
};

/// In the order of the site sheet, then of the deployment sheet. A deployment's own dates go first;
/// what they leave open is filled with `from` and `days`. Visits whose dates are known from neither
/// are left out and named in `undated`.
std::vector<Visit> visits_of(const Survey& survey, std::optional<std::chrono::local_days> from,
                             int days, std::vector<std::string>& undated);

/// "06:21" in the survey's zone, rounded to the nearest minute; "-" without a value.
std::string nearest_minute(const std::optional<Instant>& instant, const Zone& zone);

/// sun-times.csv: site, date, sunrise, sunset, dawn_from, dawn_to (ISO 8601, to the second), state
/// (rises_and_sets, always_up, always_down). One row a site and date of its visits, by site and
/// date.
void write_sun_times(const Survey& survey, const std::vector<Visit>& visits,
                     const std::filesystem::path& path);

/// For the terminal: a line a site, sunrise and sunset of its first and last date.
std::string sun_text(const Survey& survey, const std::vector<Visit>& visits);

}  // namespace hearwood
