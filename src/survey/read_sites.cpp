// sites.csv.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "base/text.h"
#include "survey/geography.h"
#include "survey/sheets.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

/// No zone is further than this from the sun's own time at its meridian (about 3.5 h in fact).
constexpr std::size_t kMostSites = 3'000;
constexpr double kMostHoursFromSun = 5;

/// No survey of one forest is so wide that a site lies this far away, and so many times as far as
/// the usual one.
constexpr double kFarMetres = 100'000, kFarTimes = 20;

struct SiteColumns {
    std::optional<std::size_t> site, latitude, longitude, factor, block;
};

SiteColumns require_columns(const Sheet& sheet, const StandSettings& stands,
                            std::vector<Problem>& problems) {
    SiteColumns columns;
    columns.site = require_column(sheet, "site", "which names the sites", problems);
    columns.latitude =
        require_column(sheet, "latitude", "which sunrise and sunset are worked out from", problems);
    columns.longitude = require_column(sheet, "longitude",
                                       "which sunrise and sunset are worked out from", problems);
    if (!stands.factor.empty())
        columns.factor =
            require_column(sheet, stands.factor, "which [stands] factor names", problems);
    if (!stands.block.empty())
        columns.block = require_column(sheet, stands.block, "which [stands] block names", problems);
    return columns;
}

/// The coordinate, once settle_numbers has said what is wrong with it; an empty field is told here.
double coordinate(const Sheet& sheet, const SheetRow& row, std::optional<std::size_t> column,
                  std::vector<Problem>& problems) {
    if (!column) return 0;
    if (row.cells[*column].empty())
        problems.push_back(sheet_problem(sheet, row, *column, "a site needs its coordinates",
                                         "write decimal degrees, such as 1.553"));
    return parse_number(row.cells[*column]).value_or(0);
}

class SiteRows {
  public:
    SiteRows(Survey& survey, const Sheet& sheet, const SiteColumns& columns,
             std::vector<Problem>& problems)
        : survey_(survey),
          sheet_(sheet),
          columns_(columns),
          problems_(problems),
          zone_(Zone::find(survey.time_zone)) {}

    void add(const SheetRow& row) {
        Site site;
        site.line = row.line;
        site.cells = row.cells;
        if (columns_.site && usable_name(sheet_, row, *columns_.site, problems_)) {
            site.name = row.cells[*columns_.site];
            refuse_duplicate(row, site.name);
        }
        site.latitude = coordinate(sheet_, row, columns_.latitude, problems_);
        site.longitude = coordinate(sheet_, row, columns_.longitude, problems_);
        if (columns_.latitude && columns_.longitude) doubt_coordinates(row, site);
        if (columns_.factor && usable_name(sheet_, row, *columns_.factor, problems_))
            site.stand = row.cells[*columns_.factor];
        if (columns_.block) site.block = row.cells[*columns_.block];
        const StandSettings& stands = survey_.stands;
        const bool compared = site.stand == stands.class_a || site.stand == stands.class_b;
        if (columns_.block && compared) usable_name(sheet_, row, *columns_.block, problems_);
        survey_.sites.push_back(std::move(site));
    }

    /// A site far from all others, compared with how far these lie from their middle, has a slip in
    /// its coordinates: a digit, a sign, or latitude and longitude swapped.
    void doubt_far_ones() {
        if (!columns_.latitude || !columns_.longitude || placed_.size() < 3) return;
        std::vector<double> latitudes, longitudes, metres;
        for (const auto& [site, row] : placed_) {
            latitudes.push_back(survey_.sites[site].latitude);
            longitudes.push_back(survey_.sites[site].longitude);
        }
        const double latitude = middle_of(latitudes), longitude = middle_of(longitudes);
        for (const auto& [site, row] : placed_)
            metres.push_back(distance_m(latitude, longitude, survey_.sites[site].latitude,
                                        survey_.sites[site].longitude));
        std::vector<double> sorted = metres;
        const double usual = middle_of(sorted);
        for (std::size_t i = 0; i < placed_.size(); ++i)
            if (metres[i] > kFarMetres && metres[i] > kFarTimes * usual)
                warn(*placed_[i].second, *columns_.latitude,
                     fmt::format("{:.0f} km from the middle of the other sites", metres[i] / 1000),
                     "check the digits and the sign of latitude and longitude, and whether they "
                     "are swapped");
    }

  private:
    static double middle_of(std::vector<double>& values) {
        const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
        std::nth_element(values.begin(), middle, values.end());
        return *middle;
    }

    void warn(const SheetRow& row, std::size_t column, std::string what, std::string fix) {
        Problem problem = sheet_problem(sheet_, row, column, std::move(what), std::move(fix));
        problem.severity = Severity::warning;
        problems_.push_back(std::move(problem));
    }

    void refuse_duplicate(const SheetRow& row, const std::string& name) {
        const auto [exact, fresh] = lines_.emplace(name, row.line);
        if (!fresh) {
            problems_.push_back(
                sheet_problem(sheet_, row, *columns_.site,
                              fmt::format("line {} already describes this site", exact->second),
                              "one row a site; further recorders of a site go into "
                              "deployments.csv"));
            problems_.back().other_line = exact->second;
            return;
        }
        const auto [alike, new_spelling] = spellings_.emplace(to_lower_ascii(name), row.line);
        if (!new_spelling)
            warn(row, *columns_.site,
                 fmt::format("differs from the site of line {} by capital letters only",
                             alike->second),
                 "if it is the same site, keep one row");
    }

    void doubt_coordinates(const SheetRow& row, const Site& site) {
        const auto is_number = [&](std::size_t column) {
            return parse_number(row.cells[column]).has_value();  // else told already
        };
        if (!is_number(*columns_.latitude) || !is_number(*columns_.longitude)) return;
        if (std::abs(site.latitude) > 90 || std::abs(site.longitude) > 180) return;  // told already
        if (site.latitude == 0 && site.longitude == 0)
            return warn(row, *columns_.latitude, "0, 0 lies in the Atlantic Ocean",
                        "write the site's own coordinates");
        const auto [before, fresh] =
            places_.emplace(std::pair{site.latitude, site.longitude}, row.line);
        if (!fresh)
            warn(row, *columns_.latitude,
                 fmt::format("the same coordinates as the site of line {}", before->second),
                 "two sites at one place are one replicate: check the numbers");
        if (zone_ && sun_is_far(row, site)) return;
        placed_.emplace_back(survey_.sites.size(), &row);
    }

    /// Told of, so that one slip of the sign is one line.
    bool sun_is_far(const SheetRow& row, const Site& site) {
        const auto offset =
            zone_->to_local(Instant(std::chrono::hours(24 * 365 * 61))).offset;  // 2030
        double apart = static_cast<double>(offset.count()) / 3600 - site.longitude / 15;
        apart -= 24 * std::round(apart / 24);
        if (std::abs(apart) <= kMostHoursFromSun) return false;
        warn(row, *columns_.longitude,
             fmt::format("the sun here is {:.0f} hours off the clock of {}", std::abs(apart),
                         survey_.time_zone),
             "check the sign of the longitude (east is positive) and the survey's time_zone");
        return true;
    }

    Survey& survey_;
    const Sheet& sheet_;
    const SiteColumns& columns_;
    std::vector<Problem>& problems_;
    std::optional<Zone> zone_;  ///< the survey's, when its name is one
    std::map<std::string, std::size_t> lines_, spellings_;
    std::map<std::pair<double, double>, std::size_t> places_;
    std::vector<std::pair<std::size_t, const SheetRow*>> placed_;  ///< sites with coordinates
};

/// Every class of `compare` needs a site; with one it is shown, but not tested.
void check_classes(const Survey& survey, const Sheet& sheet, std::size_t column,
                   std::vector<Problem>& problems) {
    std::map<std::string, std::size_t> counts;
    for (const Site& site : survey.sites)
        if (!site.stand.empty()) ++counts[site.stand];
    std::vector<std::string> levels;
    levels.reserve(counts.size());
    for (const auto& [level, count] : counts) levels.push_back(level);
    for (const std::string& level : {survey.stands.class_a, survey.stands.class_b}) {
        if (level.empty() || counts[level] > 1) continue;
        Problem problem{.file = kSettingsFile, .field = "[stands] compare", .value = level};
        if (counts[level] == 0) {
            const auto near = nearest(level, levels);
            problem.what =
                fmt::format("no site of {} has this {}", sheet.file, sheet.header[column]);
            problem.fix = near             ? fmt::format("did you mean '{}'?", *near)
                          : levels.empty() ? "fill the column"
                                           : "the sheet has " + join(levels, ", ");
        } else {
            problem.severity = Severity::warning;
            problem.what = fmt::format("only one site has this {}: the contrast cannot be tested",
                                       sheet.header[column]);
            problem.fix =
                "sites are the replicates: at least 2 a class, 4 a class for p below 0.05";
        }
        problems.push_back(std::move(problem));
    }
}

}  // namespace

void read_sites(Survey& survey, bool& whole, std::vector<Problem>& problems) {
    Sheet sheet = read_sheet(survey.folder / kSitesFile, kSitesFile, problems);
    whole = !sheet.broken;
    if (sheet.header_line == 0) return;
    settle_numbers(sheet, known_site_columns(), problems);
    warn_of_near_columns(sheet, known_site_columns(), problems);
    const SiteColumns columns = require_columns(sheet, survey.stands, problems);
    survey.site_columns = sheet.header;
    SiteRows rows(survey, sheet, columns, problems);
    if (sheet.rows.size() > kMostSites) {
        problems.push_back(
            {.file = sheet.file,
             .what = fmt::format("{} sites; at most {} can be compared, since each is held against "
                                 "every other",
                                 grouped(sheet.rows.size()), grouped(kMostSites)),
             .fix = "make one survey of each region"});
        whole = false;
        return;
    }
    for (const SheetRow& row : sheet.rows) rows.add(row);
    rows.doubt_far_ones();
    if (!columns.site) whole = false;
    if (sheet.rows.empty() && !sheet.broken)
        problems.push_back({.file = kSitesFile,
                            .line = sheet.header_line,
                            .what = "the sheet has a header and no sites",
                            .fix = "add a row for each site"});
    else if (columns.factor && !sheet.broken)
        check_classes(survey, sheet, *columns.factor, problems);
}

}  // namespace hearwood
