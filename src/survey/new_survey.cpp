#include "survey/new_survey.h"

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "survey/setting_keys.h"
#include "survey/sheets.h"

namespace hearwood {

namespace {

constexpr const char* kSettingsHead =
    R"toml(# What this survey is and how it is measured. docs/sheets.md explains every key.
# Lines that begin with # are not read. A key with a # before it shows its default: take the # away to change it.
)toml";

constexpr const char* kSites =
    "site,latitude,longitude,nutrient_status,river,elevation_m,trail,trail_m,root_mat_cm,"
    "organic_depth_cm,mineral_texture,canopy_height_m,notes\n"
    "amerak-alluvial-1,1.7421,113.1180,rich,Amerak,22,Amerak trail,150,2,4,silty clay loam,38,"
    "example row: write your own\n"
    "amerak-heath-1,1.7466,113.1225,poor,Amerak,31,Amerak trail,900,14,22,white sand,19,"
    "example row: write your own\n";

constexpr const char* kDeployments =
    "deployment,site,folder,recorder,start,end,clock,clock_error_start_s,clock_error_end_s,"
    "gain_db,height_m,full_scale_db_spl,expected_minutes_per_hour,hours,notes\n"
    "amerak-alluvial-1-may,amerak-alluvial-1,recordings/amerak-alluvial-1-may,R01,"
    "2031-05-04 16:00,2031-05-11 09:00,,0,3,18,1.5,,10,,example row: write your own\n"
    "amerak-heath-1-may,amerak-heath-1,recordings/amerak-heath-1-may,R02,"
    "2031-05-04 17:30,2031-05-11 10:30,,-1,-4,18,1.5,,10,,example row: write your own\n";

std::string decisions_header() {
    std::vector<std::string> names;
    for (const KnownColumn& column : known_decision_columns()) names.emplace_back(column.name);
    return join(names, ",") + "\n";
}

}  // namespace

std::vector<NewSheet> new_survey_sheets() {
    return {{kSettingsFile, kSettingsHead + settings_template(setting_sections())},
            {kSitesFile, kSites},
            {kDeploymentsFile, kDeployments},
            {kDecisionsFile, decisions_header()}};
}

std::vector<NewSheet> new_survey_sheets(const std::string& sites) {
    std::vector<NewSheet> sheets = new_survey_sheets();
    const std::string deployments = kDeployments;
    for (NewSheet& sheet : sheets) {
        if (sheet.name == kSitesFile) sheet.text = sites;
        if (sheet.name == kDeploymentsFile)
            sheet.text = deployments.substr(0, deployments.find('\n') + 1);
    }
    return sheets;
}

void write_new_survey(const std::filesystem::path& folder, const std::vector<NewSheet>& sheets) {
    std::vector<Problem> there;
    for (const NewSheet& sheet : sheets)
        if (std::filesystem::symlink_status(folder / sheet.name).type() !=
            std::filesystem::file_type::not_found)
            there.push_back({.file = (folder / sheet.name).string(),
                             .what = "this is there already and is never overwritten",
                             .fix = "choose a new folder, or move it away"});
    if (!there.empty()) throw InputError(std::move(there));
    make_folder(folder / "recordings");
    for (const NewSheet& sheet : sheets) write_whole_file(folder / sheet.name, sheet.text);
}

}  // namespace hearwood
