// What is planned where and when: one visit a deployment, and one for each site that has none yet.
#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/table.h"
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

/// A row of sun-times.csv: a site and a date of its visits.
struct SunLine {
    std::size_t site = 0;  ///< into Survey::sites
    std::chrono::local_days date;
    std::optional<Instant> sunrise, sunset, dawn_from, dawn_to;
    SunTimes::State state{};
};
/// The survey must outlive the table.
TableOf<SunLine> sun_times_table(const Survey& survey);
/// By site and date.
void write_sun_times(const Survey& survey, const std::vector<Visit>& visits,
                     const std::filesystem::path& path);

/// For the terminal: a line a site, sunrise and sunset of its first and last date.
std::string sun_text(const Survey& survey, const std::vector<Visit>& visits);

}  // namespace hearwood
