// What the program knows about the columns of the CSV sheets, and what their readers share.
#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "base/text.h"
#include "survey/sheets.h"

namespace hearwood {

namespace {

constexpr double kAny = std::numeric_limits<double>::infinity();
/// A recorder that woke in 1970 is off by decades; what is off by more than a century is no clock
/// check, and would overflow the arithmetic of time.
constexpr double kCenturyS = 3'155'760'000;
constexpr KnownColumn text_column(const char* name, const char* meaning) {
    return {name, "", -kAny, kAny, meaning};
}

constexpr KnownColumn kSiteColumns[] = {
    text_column("site", "name of the site"),
    {"latitude", "degree", -90, 90, "geographic latitude, north positive"},
    {"longitude", "degree", -180, 180, "geographic longitude, east positive"},
    {"elevation_m", "m", -430, 9000, "height above sea level"},
    text_column("trail", "trail along which the site lies"),
    {"trail_m", "m", 0, 1e7, "distance along the trail"},
    text_column("block", "group of sites within which classes are compared"),
    {"root_mat_cm", "cm", 0, 500, "thickness of the root mat"},
    {"organic_depth_cm", "cm", 0, 5000, "depth of the organic layer"},
    text_column("mineral_texture", "texture of the mineral soil"),
    {"canopy_height_m", "m", 0, 150, "height of the canopy"},
    text_column("sensitive", "yes: its coordinates are made coarse before they leave the survey"),
    text_column("notes", "remarks"),
};

constexpr KnownColumn kDeploymentColumns[] = {
    text_column("deployment", "name of the deployment"),
    text_column("site", "site of sites.csv"),
    text_column("folder", "folder of its recordings, from the survey folder"),
    text_column("recorder", "name of the recorder"),
    text_column("season", "season of the recordings, where sites were visited in several"),
    text_column("start", "when the recorder was put out (local)"),
    text_column("end", "when it was taken in (local)"),
    text_column("clock", "zone of the recorder's clock"),
    {"clock_error_start_s", "s", -kCenturyS, kCenturyS,
     "recorder minus true time when it was put out"},
    {"clock_error_end_s", "s", -kCenturyS, kCenturyS,
     "recorder minus true time when it was taken in"},
    {"gain_db", "dB", -100, 200, "gain of the recorder"},
    {"height_m", "m", 0, 150, "height above the ground"},
    {"full_scale_db_spl", "dB re 20 uPa", 20, 220, "sound pressure level of a full-scale sine"},
    {"expected_minutes_per_hour", "min", 0, 60, "minutes an hour that the schedule should give"},
    text_column("hours", "hours of the day in which the schedule records (local)"),
    text_column("notes", "remarks"),
};

constexpr KnownColumn kDecisionColumns[] = {
    text_column("date", "when it was decided"),
    text_column("decision", "what is done: leave_out, clock, belongs_to, sample_rate or keep"),
    text_column("subject", "the site, deployment or recording of which it is decided"),
    text_column("from", "leave_out: from when on (local); clock: from which recording on"),
    text_column("to", "leave_out: until when (local)"),
    text_column("value", "the true start, the other deployment, the rate or the screen"),
    text_column("reason", "why"),
    text_column("by", "who decided it"),
};

}  // namespace

const KnownColumn* find_column(std::span<const KnownColumn> known, const std::string& name) {
    const auto found = std::find_if(known.begin(), known.end(),
                                    [&](const KnownColumn& column) { return name == column.name; });
    return found == known.end() ? nullptr : &*found;
}

namespace {

/// What the rule would not make of a name by itself.
constexpr std::pair<const char*, const char*> kCalled[] = {
    {"trail_m", "trail distance"},
    {"gain_db", "recorder gain"},
    {"height_m", "recorder height"},
    {"full_scale_db_spl", "full-scale level"},
};
/// Units at the end of a name, as they are written.
constexpr std::pair<const char*, const char*> kUnits[] = {
    {"m", "m"},        {"cm", "cm"},   {"mm", "mm"},     {"km", "km"},
    {"ha", "ha"},      {"db", "dB"},   {"dbfs", "dBFS"}, {"hz", "Hz"},
    {"s", "s"},        {"min", "min"}, {"pct", "%"},     {"percent", "%"},
    {"deg", "\u00B0"}, {"mg", "mg"},   {"kg", "kg"},     {"spl", "dB SPL"},
};

}  // namespace

std::pair<std::string, std::string> column_in_words(const std::string& column) {
    constexpr std::string_view kOfDeployments = "deployments.";
    std::string name = column, unit;
    if (name.starts_with(kOfDeployments)) name.erase(0, kOfDeployments.size());
    const std::string whole = name;
    const std::size_t end = name.rfind('_');
    if (end != std::string::npos && end > 0)
        for (const auto& [suffix, written] : kUnits)
            if (to_lower_ascii(name.substr(end + 1)) == suffix) {
                unit = written;
                name.erase(end);
                break;
            }
    for (const auto& [known, called] : kCalled)
        if (whole == known) name = called;
    std::replace(name.begin(), name.end(), '_', ' ');
    return {name, unit};
}

std::span<const KnownColumn> known_site_columns() {
    return kSiteColumns;
}
std::span<const KnownColumn> known_deployment_columns() {
    return kDeploymentColumns;
}
std::span<const KnownColumn> known_decision_columns() {
    return kDecisionColumns;
}

void warn_of_near_columns(const Sheet& sheet, std::span<const KnownColumn> known,
                          std::vector<Problem>& problems) {
    std::vector<std::string> absent;
    for (const KnownColumn& column : known)
        if (!sheet.column(column.name)) absent.push_back(column.name);
    for (std::size_t c = 0; c < sheet.header.size(); ++c) {
        const std::string& name = sheet.header[c];
        if (name.empty() || find_column(known, name)) continue;
        if (const auto near = nearest(to_lower_ascii(name), absent))
            problems.push_back({.file = sheet.file,
                                .line = sheet.header_line,
                                .column = c + 1,
                                .value = name,
                                .what = "a column of the survey's own",
                                .fix = fmt::format("if '{}' was meant, rename it", *near),
                                .severity = Severity::warning});
    }
}

std::optional<std::size_t> require_column(const Sheet& sheet, const std::string& name,
                                          const std::string& why, std::vector<Problem>& problems) {
    if (const auto column = sheet.column(name)) return column;
    if (sheet.header_line == 0) return {};  // nothing could be read, which is told already
    std::vector<std::string> lower;
    for (const std::string& header : sheet.header) lower.push_back(to_lower_ascii(header));
    const auto near = nearest(name, lower);
    std::string fix = fmt::format("add the column; the header has {}", join(sheet.header, ", "));
    if (sheet.header.size() > 20) fix = "add the column";
    if (near) {
        const auto at = std::find(lower.begin(), lower.end(), *near) - lower.begin();
        fix = fmt::format("rename column '{}' to '{}'", sheet.header[static_cast<std::size_t>(at)],
                          name);
    }
    problems.push_back({.file = sheet.file,
                        .line = sheet.header_line,
                        .what = fmt::format("there is no column '{}', {}", name, why),
                        .fix = fix});
    return {};
}

void settle_numbers(Sheet& sheet, std::span<const KnownColumn> known,
                    std::vector<Problem>& problems) {
    for (std::size_t c = 0; c < sheet.header.size(); ++c) {
        const KnownColumn* column = find_column(known, sheet.header[c]);
        if ((column && column->is_text()) || sheet.header[c].empty()) continue;
        for (SheetRow& row : sheet.rows) {
            const SheetNumber number = sheet_number(sheet, row.cells[c]);
            const bool strange = number.state == SheetNumber::State::ambiguous ||
                                 (column && number.state == SheetNumber::State::not_a_number);
            if (strange) number_or_problem(sheet, row, c, problems);
            if (number.state != SheetNumber::State::number) continue;
            if (column && (number.value < column->least || number.value > column->most))
                problems.push_back(sheet_problem(
                    sheet, row, c,
                    fmt::format("{} runs from {} to {}", column->name, format_number(column->least),
                                format_number(column->most)),
                    column->unit == std::string_view("degree")
                        ? "check for swapped columns and a lost decimal mark"
                        : fmt::format("check the value and its unit ({})", column->unit)));
            if (!parse_number(row.cells[c])) row.cells[c] = format_number(number.value);
        }
    }
}

bool usable_name(const Sheet& sheet, const SheetRow& row, std::size_t column,
                 std::vector<Problem>& problems) {
    const std::string& name = row.cells[column];
    if (name.empty()) {
        problems.push_back(
            sheet_problem(sheet, row, column, "this field is empty", "write a name"));
        return false;
    }
    const bool control = std::any_of(name.begin(), name.end(),
                                     [](unsigned char c) { return c < 0x20 || c == 0x7F; });
    if (control)
        problems.push_back(sheet_problem(sheet, row, column,
                                         "a name holds a line break or control character",
                                         "write it on one line"));
    return !control;
}

}  // namespace hearwood
