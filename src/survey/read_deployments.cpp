// deployments.csv.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <iterator>
#include <map>
#include <optional>
#include <utility>

#include "base/text.h"
#include "platform/file_status.h"
#include "survey/inside.h"
#include "survey/sheets.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

namespace fs = std::filesystem;

constexpr double kDoubtfulClockErrorS = 86'400;
constexpr auto kDoubtfulStay = std::chrono::days(366);

/// The folder as a clean relative path; empty, with a reason, when it leaves the survey's folder.
std::string inside_folder(const fs::path& survey, const std::string& text, std::string& reason) {
    const fs::path given(text);
    if (text.find('\\') != std::string::npos)
        reason = "a backslash: parts of a folder are separated by /";
    else if (given.is_absolute() || (text.size() > 1 && text[1] == ':'))
        reason = "a folder outside the survey folder";
    else if (std::any_of(given.begin(), given.end(),
                         [](const fs::path& part) { return part == ".."; }))
        reason = "'..' could leave the survey folder";
    if (!reason.empty()) return "";
    std::string clean = given.lexically_normal().generic_string();
    while (!clean.empty() && clean.back() == '/') clean.pop_back();
    if (clean == "." || clean == "hearwood" || clean.starts_with("hearwood/")) {
        reason = "this folder holds the survey's own files";
        return "";
    }
    if (leads_out(survey, clean)) {
        reason = "a symbolic link leads out of the survey folder";
        return "";
    }
    return clean;
}

class DeploymentRows {
  public:
    DeploymentRows(Survey& survey, const Sheet& sheet, bool all_sites,
                   std::vector<Problem>& problems)
        : survey_(survey),
          sheet_(sheet),
          all_sites_(all_sites),
          problems_(problems),
          zone_(Zone::find(survey.time_zone).value_or(Zone())) {
        for (std::size_t i = 0; i < survey.sites.size(); ++i) {
            site_names_.push_back(survey.sites[i].name);
            sites_.emplace(survey.sites[i].name, i);
        }
    }

    void add(const SheetRow& row) {
        Deployment made;
        made.line = row.line;
        made.cells = row.cells;
        read_names(row, made);
        read_folder(row, made);
        read_times(row, made);
        read_clock(row, made);
        made.gain_db = number(row, "gain_db");
        made.height_m = number(row, "height_m");
        made.full_scale_db_spl = number(row, "full_scale_db_spl");
        made.expected_minutes_per_hour = number(row, "expected_minutes_per_hour");
        read_hours(row, made);
        refuse_overlap(row, made);
        survey_.deployments.push_back(std::move(made));
    }

  private:
    /// The cell of a column; empty when the sheet lacks the column.
    std::string cell(const SheetRow& row, const char* name) const {
        const auto column = sheet_.column(name);
        return column ? row.cells[*column] : std::string();
    }

    std::optional<double> number(const SheetRow& row, const char* name) const {
        return parse_number(cell(row, name));
    }

    void refuse(const SheetRow& row, const char* name, std::string what, std::string fix,
                Severity severity = Severity::error) {
        Problem problem =
            sheet_problem(sheet_, row, *sheet_.column(name), std::move(what), std::move(fix));
        problem.severity = severity;
        problems_.push_back(std::move(problem));
    }

    /// Of a row that contradicts another: which of the two is wrong is not known.
    void refuse_beside(const SheetRow& row, std::size_t other, const char* name, std::string what,
                       std::string fix) {
        refuse(row, name, std::move(what), std::move(fix));
        problems_.back().other_line = other;
    }

    /// What could be written outside, or be counted twice, stops everything.
    void refuse_folder(const SheetRow& row, std::string what, std::string fix) {
        refuse(row, "folder", std::move(what), std::move(fix));
        problems_.back().of_row = false;
    }

    void read_names(const SheetRow& row, Deployment& made) {
        made.recorder = cell(row, "recorder");
        if (const auto column = sheet_.column("deployment");
            column && usable_name(sheet_, row, *column, problems_)) {
            made.name = row.cells[*column];
            const auto [first, fresh] = names_.emplace(made.name, row.line);
            if (!fresh)
                refuse_beside(row, first->second, "deployment",
                              fmt::format("line {} already has this name", first->second),
                              "give every deployment its own name");
        }
        const auto column = sheet_.column("site");
        if (!column || !usable_name(sheet_, row, *column, problems_)) return;
        const auto found = sites_.find(row.cells[*column]);
        if (found != sites_.end()) {
            made.site = found->second;
        } else if (all_sites_) {
            const auto near = nearest(row.cells[*column], site_names_);
            refuse(row, "site", "sites.csv has no such site",
                   near ? fmt::format("did you mean '{}'?", *near)
                        : "add it there or correct the name");
        }
    }

    void read_folder(const SheetRow& row, Deployment& made) {
        const auto column = sheet_.column("folder");
        if (!column || !usable_name(sheet_, row, *column, problems_)) return;
        std::string reason;
        made.folder = inside_folder(survey_.folder, row.cells[*column], reason);
        if (!reason.empty())
            return refuse_folder(row, reason,
                                 "name a folder inside the survey folder, such as recordings/" +
                                     (made.name.empty() ? "D01" : made.name));
        std::string taken = folder_taken(made.folder);
        if (taken.empty()) taken = taken_by_another_name(made.folder, row.line);
        if (!taken.empty())
            refuse_folder(
                row, taken,
                "give every deployment a folder of its own, or its recordings count twice");
        folders_.emplace(made.folder, row.line);
    }

    /// What the file system calls a folder, whatever links and mounts lead to it.
    using Identity = std::pair<std::uint64_t, std::uint64_t>;
    static std::optional<Identity> identity_of(const std::filesystem::path& folder) {
        const auto status = status_of(folder, Links::follow);
        if (!status) return std::nullopt;
        return Identity(status->device, status->number);
    }

    /// As folder_taken(), for folders that are one behind a link or a mount.
    std::string taken_by_another_name(const std::string& folder, std::size_t line) {
        std::error_code error;
        const auto real = std::filesystem::canonical(survey_.folder / folder, error);
        const auto own = error ? std::nullopt : identity_of(real);
        if (!own) return "";  // it is not there yet
        const auto [same, fresh] = identities_.emplace(*own, line);
        if (!fresh) return fmt::format("it is the folder of line {} by another name", same->second);
        if (const auto inner = above_.find(*own); inner != above_.end())
            return fmt::format("the folder of line {} lies in it, behind a link or a mount",
                               inner->second);
        for (auto at = real; at != at.parent_path();) {
            at = at.parent_path();
            const auto outer = identity_of(at);
            if (!outer) continue;
            if (const auto found = identities_.find(*outer); found != identities_.end())
                return fmt::format("it lies in the folder of line {}, behind a link or a mount",
                                   found->second);
            above_.emplace(*outer, line);
        }
        return "";
    }

    /// Why the folder cannot be a deployment's own: another one has it, holds it, or lies in it.
    std::string folder_taken(const std::string& folder) const {
        if (const auto same = folders_.find(folder); same != folders_.end())
            return fmt::format("line {} has the same folder", same->second);
        for (std::size_t end = folder.find('/'); end != std::string::npos;
             end = folder.find('/', end + 1))
            if (const auto outer = folders_.find(folder.substr(0, end)); outer != folders_.end())
                return fmt::format("it lies in the folder of line {}", outer->second);
        const auto inner = folders_.lower_bound(folder + "/");
        if (inner != folders_.end() && inner->first.starts_with(folder + "/"))
            return fmt::format("the folder of line {} lies in it", inner->second);
        return "";
    }

    std::optional<LocalTime> read_time(const SheetRow& row, const char* name) {
        const std::string text = cell(row, name);
        if (text.empty()) return {};
        const auto time = parse_local_time(text);
        if (!time) {
            refuse(row, name,
                   parse_date(text) ? "the time of day is not there"
                                    : "not a date and time of the local clock",
                   "write it as 2031-05-04 17:30, without a zone; format the spreadsheet's column "
                   "as text");
            return {};
        }
        switch (zone_.fit(*time)) {
            case Zone::Fit::unique:
                break;
            case Zone::Fit::nonexistent:
                refuse(row, name,
                       fmt::format("the clock of {} jumped over this time", survey_.time_zone),
                       "look up what the clock showed");
                break;
            case Zone::Fit::ambiguous:
                refuse(row, name,
                       fmt::format("the clock of {} showed this time twice, and the first is taken",
                                   survey_.time_zone),
                       "if it was the second, write the time an hour later", Severity::warning);
                break;
        }
        return time;
    }

    void read_times(const SheetRow& row, Deployment& made) {
        made.start = read_time(row, "start");
        made.end = read_time(row, "end");
        if (!made.start || !made.end) return;
        if (*made.end <= *made.start)
            refuse(row, "end", fmt::format("ends before it starts ({})", cell(row, "start")),
                   "check year, month and day; swapped fields are the usual cause");
        else if (*made.end - *made.start > kDoubtfulStay)
            refuse(row, "end", "more than a year after the start", "check the years",
                   Severity::warning);
    }

    void read_clock(const SheetRow& row, Deployment& made) {
        made.clock = cell(row, "clock");
        if (made.clock.empty())
            made.clock = survey_.time_zone;
        else if (!Zone::find(made.clock))
            refuse(row, "clock", "this machine knows no such time zone", zone_fix(made.clock));
        made.clock_error_start_s = number(row, "clock_error_start_s");
        made.clock_error_end_s = number(row, "clock_error_end_s");
        for (const char* name : {"clock_error_start_s", "clock_error_end_s"}) {
            const auto error = number(row, name);
            if (error && std::abs(*error) > kDoubtfulClockErrorS)
                refuse(row, name, "the clock was off by more than a day",
                       "check the sign and the unit: seconds, recorder minus true time",
                       Severity::warning);
        }
        const auto& first = made.clock_error_start_s;
        const auto& second = made.clock_error_end_s;
        if (first && second && *first != *second && !(made.start && made.end))
            refuse(row, "clock_error_end_s", "clock errors need start and end times",
                   "fill start and end, when the checks were made");
    }

    void read_hours(const SheetRow& row, Deployment& made) {
        const std::string text = cell(row, "hours");
        if (text.empty()) return;
        if (auto stretches = parse_scheduled_hours(text))
            made.hours = std::move(*stretches);
        else
            refuse(
                row, "hours", "not the hours of a schedule",
                "write them as 16:30-08:00 or 05:00-08:00 17:00-20:00, none of them twice; leave "
                "the field empty for all day");
    }

    /// Stays of one recorder do not overlap, so that only the neighbours in time need a look.
    void refuse_overlap(const SheetRow& row, const Deployment& made) {
        if (made.recorder.empty() || !made.start || !made.end || *made.end <= *made.start) return;
        auto& stays = stays_[made.recorder];
        auto next = stays.lower_bound(*made.start);
        for (auto near : {next == stays.begin() ? stays.end() : std::prev(next), next}) {
            if (near == stays.end()) continue;
            const Deployment& other = survey_.deployments[near->second];
            if (*made.start >= *other.end || *other.start >= *made.end) continue;
            refuse_beside(
                row, other.line, "recorder",
                fmt::format("this recorder was out in deployment '{}' (line {}) from {} to {}",
                            other.name, other.line, format_local(*other.start),
                            format_local(*other.end)),
                "a recorder is in one place at a time: correct the times or the recorder");
            break;
        }
        stays.emplace(*made.start, survey_.deployments.size());
    }

    Survey& survey_;
    const Sheet& sheet_;
    bool all_sites_;
    std::vector<Problem>& problems_;
    Zone zone_;
    std::vector<std::string> site_names_;
    std::map<std::string, std::size_t> sites_, names_;
    std::map<std::string, std::size_t> folders_;
    std::map<Identity, std::size_t> identities_, above_;  // of the folders, and of those above them
    std::map<std::string, std::map<LocalTime, std::size_t>> stays_;  // recorder, start, deployment
};

}  // namespace

void read_deployments(Survey& survey, bool all_sites, std::vector<Problem>& problems) {
    Sheet sheet = read_sheet(survey.folder / kDeploymentsFile, kDeploymentsFile, problems);
    if (sheet.header_line == 0) return;
    settle_numbers(sheet, known_deployment_columns(), problems);
    warn_of_near_columns(sheet, known_deployment_columns(), problems);
    require_column(sheet, "deployment", "which names the rows", problems);
    require_column(sheet, "site", "which ties a row to sites.csv", problems);
    require_column(sheet, "folder", "which says where the recordings are", problems);
    survey.deployment_columns = sheet.header;
    DeploymentRows rows(survey, sheet, all_sites, problems);
    for (const SheetRow& row : sheet.rows) rows.add(row);
}

}  // namespace hearwood
