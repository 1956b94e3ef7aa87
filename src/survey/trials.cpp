#include "survey/trials.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <tuple>
#include <utility>

#include "base/log.h"
#include "base/text.h"
#include "survey/sheets.h"

namespace hearwood {
namespace {

constexpr double kLeastMetres = 0.5, kMostMetres = 500;

class TrialRows {
  public:
    TrialRows(const Survey& survey, const Sheet& sheet, std::vector<Problem>& problems)
        : survey_(survey), sheet_(sheet), problems_(problems) {
        for (std::size_t i = 0; i < survey.sites.size(); ++i)
            sites_.emplace(survey.sites[i].name, i);
        for (std::size_t i = 0; i < survey.deployments.size(); ++i)
            deployments_.emplace(survey.deployments[i].name, i);
        for (const char* name : {"date", "time", "distance_m"})
            whole_ = require_column(sheet, name, "which says what was played", problems) && whole_;
        if (!sheet.column("site") && !sheet.column("deployment"))
            whole_ =
                require_column(sheet, "site", "where the sound was played", problems) && whole_;
    }

    void add(const SheetRow& row) {
        if (!whole_) return;
        Trial trial;
        trial.line = row.line;
        trial.notes = cell(row, "notes");
        const bool placed = read_place(row, trial), timed = read_time(row, trial);
        if (read_distance(row, trial) && placed && timed) trials_.push_back(std::move(trial));
    }
    std::vector<Trial> finish() {
        std::sort(trials_.begin(), trials_.end(), [](const Trial& a, const Trial& b) {
            return std::tie(a.site, a.deployment, a.time, a.distance_m) <
                   std::tie(b.site, b.deployment, b.time, b.distance_m);
        });
        return std::move(trials_);
    }

  private:
    std::string cell(const SheetRow& row, const char* name) const {
        const auto column = sheet_.column(name);
        return column ? row.cells[*column] : std::string();
    }
    bool refuse(const SheetRow& row, const char* name, std::string what, std::string fix) {
        problems_.push_back(
            sheet_problem(sheet_, row, *sheet_.column(name), std::move(what), std::move(fix)));
        return false;
    }
    /// The place of the cell's name among the known ones; a problem where it is none.
    std::optional<std::size_t> find(const SheetRow& row, const char* column, const char* sheet,
                                    const std::map<std::string, std::size_t>& known) {
        const std::string name = cell(row, column);
        const auto found = known.find(name);
        if (found != known.end()) return found->second;
        std::vector<std::string> names;
        for (const auto& [other, place] : known) names.push_back(other);
        const auto near = nearest(name, names);
        refuse(row, column, fmt::format("{} has no such {}", sheet, column),
               near ? fmt::format("did you mean '{}'?", *near) : "write it as it stands there");
        return {};
    }

    bool read_place(const SheetRow& row, Trial& trial) {
        if (!cell(row, "deployment").empty()) {
            trial.deployment = find(row, "deployment", kDeploymentsFile, deployments_);
            if (!trial.deployment) return false;
            trial.site = survey_.deployments[*trial.deployment].site;
            if (cell(row, "site").empty() || cell(row, "site") == survey_.sites[trial.site].name)
                return true;
            return refuse(row, "site", "the deployment of this row is at another site",
                          "leave one of the two empty");
        }
        if (!sheet_.column("site") || cell(row, "site").empty())
            return refuse(row, sheet_.column("site") ? "site" : "deployment",
                          "neither site nor deployment is given", "name one of them");
        const auto site = find(row, "site", kSitesFile, sites_);
        trial.site = site.value_or(0);
        return site.has_value();
    }
    bool read_time(const SheetRow& row, Trial& trial) {
        if (!parse_date(cell(row, "date")))
            return refuse(row, "date", "not a date", "write it as 2031-05-04");
        const auto time = parse_local_time(cell(row, "date") + " " + cell(row, "time"));
        if (!time)
            return refuse(row, "time", "not a time of day", "write the minute of the play: 10:05");
        trial.time = *time;
        return true;
    }
    bool read_distance(const SheetRow& row, Trial& trial) {
        const std::size_t column = *sheet_.column("distance_m");
        const std::size_t before = problems_.size();
        const auto metres = number_or_problem(sheet_, row, column, problems_);
        if (problems_.size() > before) return false;
        if (!metres || *metres < kLeastMetres || *metres > kMostMetres)
            return refuse(row, "distance_m", "not a distance from the speaker to the recorder",
                          fmt::format("write metres, {} to {}: {}, then 25 or 30 and 50",
                                      kLeastMetres, kMostMetres, kNearestTrialM));
        trial.distance_m = *metres;
        return true;
    }

    const Survey& survey_;
    const Sheet& sheet_;
    std::vector<Problem>& problems_;
    std::map<std::string, std::size_t> sites_, deployments_;
    std::vector<Trial> trials_;
    bool whole_ = true;
};

}  // namespace

std::vector<Trial> read_trials(const Survey& survey, std::vector<Problem>& problems) {
    const std::filesystem::path path = survey.folder / kTrialsFile;
    std::error_code none;
    if (!std::filesystem::exists(path, none)) return {};
    const Sheet sheet = read_sheet(path, kTrialsFile, problems);
    if (sheet.header_line == 0) return {};
    TrialRows rows(survey, sheet, problems);
    for (const SheetRow& row : sheet.rows) rows.add(row);
    return rows.finish();
}

std::vector<Trial> usable_trials(const Survey& survey) {
    std::vector<Problem> problems;
    std::vector<Trial> trials = read_trials(survey, problems);
    if (any_error(problems)) throw InputError(problems);
    log_line(problems);
    return trials;
}

}  // namespace hearwood
