// A survey as its sheets describe it: settings, sites, deployments, decisions. Loading shows all
// problems at once.
#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.h"
#include "base/wall_time.h"
#include "survey/decisions.h"
#include "survey/settings.h"

namespace hearwood {

/// One row of sites.csv.
struct Site {
    std::string name;
    double latitude = 0, longitude = 0;  ///< degrees, north and east positive
    std::string stand;                   ///< value of the column [stands].factor
    std::string block;               ///< value of the column [stands].block; empty without blocks
    std::vector<std::string> cells;  ///< every column as text, parallel to Survey::site_columns
    std::size_t line = 0;
};

/// A stretch of the day in which a schedule records: minutes from local midnight, `to` after `from`
/// or, over midnight, at most as much; [0, 1440) and (0, 1440].
struct ScheduledHours {
    int from = 0, to = 0;
    int minutes() const { return to > from ? to - from : to + 24 * 60 - from; }
    bool operator==(const ScheduledHours&) const = default;
};

/// One row of deployments.csv.
struct Deployment {
    std::string name;
    std::size_t site = 0;  ///< into Survey::sites
    std::string folder;    ///< relative to the survey folder, '/' between parts, never outside it
    std::string recorder;
    std::optional<LocalTime> start, end;  ///< in the survey's zone
    std::string clock;  ///< "UTC", "+08:00" or an IANA zone; the survey's zone by default
    std::optional<double> clock_error_start_s, clock_error_end_s;  ///< recorder minus true time
    std::optional<double> gain_db, height_m, full_scale_db_spl, expected_minutes_per_hour;
    std::vector<ScheduledHours> hours;  ///< of its schedule; empty: around the clock, or not known
    std::vector<std::string> cells;     ///< parallel to Survey::deployment_columns
    std::size_t line = 0;
};

/// A site or deployment that goes without, since its row, or one that it needs, is wrong.
struct LeftOutRow {
    bool is_site = false;
    std::string name;  ///< empty where the row has none
    std::string why;   ///< a clause, with the place in the sheet
};

struct Survey : Settings {
    std::filesystem::path folder;
    std::vector<std::string> site_columns, deployment_columns;  ///< headers in the sheets' order
    std::vector<Site> sites;
    std::vector<Deployment> deployments;  ///< as the decisions have them: swapped cards put right
    std::vector<Deployment> deployments_as_written;
    std::vector<Decision> decisions;   ///< in the order of the sheet
    std::vector<LeftOutRow> left_out;  ///< sites, then deployments; see load_usable_survey
    std::vector<Problem> warnings;
};

/// Reads the sheets and applies the decisions to the deployments. Errors: InputError with every
/// problem of all sheets.
Survey load_survey(const std::filesystem::path& folder);
/// The same without what rows of sites.csv and deployments.csv that are wrong stand for: one wrong
/// row stops only what needs it. What was left out is in Survey::left_out, and has to be told
/// beside every answer. Errors, as above, where the fault is not of a row (survey.toml, a header, a
/// sheet that breaks off), in decisions.csv (what a person wanted left out would count), and where
/// no site of a class or no deployment would be left.
Survey load_usable_survey(const std::filesystem::path& folder);
/// The same for what needs the row of one deployment (empty: of none in particular): errors of
/// other rows, and of decisions, are warnings, copied into `forgiven`, and deployments with such a
/// row are left out. A card waits for nobody's typing slip.
Survey load_survey_for(const std::filesystem::path& folder, const std::string& deployment,
                       std::vector<Problem>& forgiven);

/// "16:30-08:00", "05:00-08:00 17:00-20:00": stretches of the day, separated by spaces, commas or
/// semicolons. Nothing when it is not that, or when two of them overlap.
std::optional<std::vector<ScheduledHours>> parse_scheduled_hours(std::string_view text);
/// Minutes of a day in which a schedule with these stretches runs; all of it for none.
int scheduled_minutes(const std::vector<ScheduledHours>& stretches);

/// Names of the blocks that any site is in.
std::set<std::string> blocks_of(const Survey& survey);

/// The cell of a named column as it was read; empty when the sheet has no such column.
std::string_view cell_in(const Site& site, const Survey& survey, const std::string& column);
std::string_view cell_in(const Deployment& deployment, const Survey& survey,
                         const std::string& column);
/// The cell of a named column as a number, where the sheet has that column and the cell is one.
std::optional<double> number_in(const Site& site, const Survey& survey, const std::string& column);
std::optional<double> number_in(const Deployment& deployment, const Survey& survey,
                                const std::string& column);
/// Mean of a column of deployments.csv over the deployments of a site, where one has a number.
std::optional<double> mean_over_deployments(const Survey& survey, std::size_t site,
                                            const std::string& column);

}  // namespace hearwood
