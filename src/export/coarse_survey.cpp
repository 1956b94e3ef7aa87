#include "export/coarse_survey.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"

namespace hearwood {

namespace {

constexpr double kMetresPerDegree = 111'320;  // of latitude, on a sphere of WGS 84's equator

bool is_sensitive(const Survey& survey, const Site& site) {
    const std::string cell = to_lower_ascii(cell_in(site, survey, "sensitive"));
    if (cell == "yes") return true;
    if (cell.empty() || cell == "no") return false;
    throw InputError({Problem{.file = "sites.csv",
                              .line = site.line,
                              .field = "sensitive",
                              .value = cell,
                              .what = "neither yes nor no",
                              .fix = "write yes where the place must not be found, else no"}});
}

/// Without the traces that binary fractions leave: 113.1, not 113.10000000000001.
double rounded(double degrees, double step) {
    constexpr double kDecimals = 1e9;
    return std::round(std::round(degrees / step) * step * kDecimals) / kDecimals;
}

}  // namespace

std::vector<double> coarse_steps(const Survey& survey, std::optional<double> all) {
    std::vector<double> steps;
    for (const Site& site : survey.sites) {
        const bool sensitive = is_sensitive(survey, site);
        steps.push_back(all ? *all : sensitive ? kSensitiveDegrees : 0);
    }
    return steps;
}

Survey coarse_survey(const Survey& survey, const std::vector<double>& steps) {
    Survey coarse = survey;
    for (std::size_t i = 0; i < coarse.sites.size(); ++i) {
        Site& site = coarse.sites[i];
        if (steps[i] <= 0) continue;
        site.latitude = std::clamp(rounded(site.latitude, steps[i]), -90.0, 90.0);
        site.longitude = std::clamp(rounded(site.longitude, steps[i]), -180.0, 180.0);
        for (std::size_t c = 0; c < coarse.site_columns.size() && c < site.cells.size(); ++c) {
            if (coarse.site_columns[c] == "latitude") site.cells[c] = format_number(site.latitude);
            if (coarse.site_columns[c] == "longitude")
                site.cells[c] = format_number(site.longitude);
        }
    }
    return coarse;
}

double uncertainty_m(double latitude, double step) {
    const double half = step / 2 * kMetresPerDegree;
    return std::ceil(std::hypot(half, half * std::cos(latitude * std::numbers::pi / 180)));
}

}  // namespace hearwood
