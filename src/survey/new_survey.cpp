#include "survey/new_survey.h"

#include <fmt/format.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "survey/screen_settings.h"
#include "survey/sheets.h"

namespace hearwood {

namespace {

constexpr const char* kSettingsHead =
    R"toml(# What this survey is and how it is measured. docs/sheets.md explains every key.
# Lines that begin with # are not read. A key with a # before it shows its default: take the # away to change it.

[survey]
title = "Heath and alluvial forest"
time_zone = "Asia/Kuching"          # IANA name; dates, hours and windows follow this clock

[stands]
factor = "nutrient_status"          # the column of sites.csv that names each site's class
compare = ["rich", "poor"]          # differences are the first minus the second
#block = "river"                    # a column of sites.csv: classes are compared within it
#listening_distance_m = 250         # nearer sites may hear the same animals (common practice)

[measure]
#segment_s = 60                     # seconds that one row of results covers
#frame = 512                        # samples of a transform; even
#hop = 512                          # samples from frame to frame
#range_hz = [200, 24000]            # analysis range; by default from 200 Hz to half the sample rate
#step_s = 5                         # step of the acoustic complexity index
#anthrophony_hz = [1000, 2000]      # low band of the NDSI
#biophony_hz = [2000, 8000]         # high band of the NDSI; bi and standout

[bands]
# Bands of your own, each measured beside the whole: name = [from, to] in hertz.
#insects = [4000, 12000]
#frogs = [800, 2800]

[windows]
# dawn, dusk, day and night are built in and can be changed here, or taken away with: day = false
# New windows come before them. Edges: a clock time, or minutes from sunrise or sunset.
#dawn = { from = "sunrise-60min", to = "sunrise+120min" }
#dusk = { from = "sunset-60min", to = "sunset+60min" }
#late = { from = "22:00", to = "04:00" }

[screen]
# Why a segment is left out, or only flagged. docs/screens.md has the rules.
)toml";

constexpr const char* kSettingsTail = R"toml(
[contrast]
# Declare the primary outcome before the data are seen; everything else is secondary.
#primary = { index = "aci", window = "dawn" }
#seed = 1                           # of random relabellings, where there are too many to list
#level = 0.95                       # of confidence intervals

[names]
# How file names say when a recording began, when the built-in patterns do not fit.
#start_time = "*_%Y%m%d_%H%M%S"
)toml";

std::string screen_lines() {
    std::string text;
    const ScreenSettings defaults;
    for (const ScreenSwitch& key : kScreenSwitches)
        text += fmt::format("{:<36}# {}\n", fmt::format("#{} = {}", key.key, defaults.*key.member),
                            key.meaning);
    for (const ScreenThreshold& key : kScreenThresholds)
        text += fmt::format("{:<36}# {}\n",
                            fmt::format("#{} = {}", key.key, format_number(defaults.*key.member)),
                            key.meaning);
    return text;
}

constexpr const char* kSites =
    "site,latitude,longitude,nutrient_status,river,elevation_m,trail,trail_m,root_mat_cm,"
    "organic_depth_cm,mineral_texture,canopy_height_m,notes\n"
    "amerak-alluvial-1,1.7421,113.1180,rich,Amerak,22,Amerak trail,150,2,4,silty clay loam,38,"
    "example row: write your own\n"
    "amerak-heath-1,1.7466,113.1225,poor,Amerak,31,Amerak trail,900,14,22,white sand,19,"
    "example row: write your own\n";

constexpr const char* kDeployments =
    "deployment,site,folder,recorder,start,end,clock,clock_error_start_s,clock_error_end_s,"
    "gain_db,height_m,full_scale_db_spl,expected_minutes_per_hour,notes\n"
    "amerak-alluvial-1-may,amerak-alluvial-1,recordings/amerak-alluvial-1-may,R01,"
    "2031-05-04 16:00,2031-05-11 09:00,,0,3,18,1.5,,10,example row: write your own\n"
    "amerak-heath-1-may,amerak-heath-1,recordings/amerak-heath-1-may,R02,"
    "2031-05-04 17:30,2031-05-11 10:30,,-1,-4,18,1.5,,10,example row: write your own\n";

}  // namespace

std::vector<NewSheet> new_survey_sheets() {
    return {{kSettingsFile, kSettingsHead + screen_lines() + kSettingsTail},
            {kSitesFile, kSites},
            {kDeploymentsFile, kDeployments}};
}

void write_new_survey(const std::filesystem::path& folder) {
    const std::vector<NewSheet> sheets = new_survey_sheets();
    std::vector<Problem> there;
    for (const NewSheet& sheet : sheets)
        if (std::filesystem::symlink_status(folder / sheet.name).type() !=
            std::filesystem::file_type::not_found)
            there.push_back({.file = (folder / sheet.name).string(),
                             .what = "this is there already and is never overwritten",
                             .mend = "choose a new folder, or move it away"});
    if (!there.empty()) throw InputError(std::move(there));
    make_folder(folder / "recordings");
    for (const NewSheet& sheet : sheets) write_whole_file(folder / sheet.name, sheet.text);
}

}  // namespace hearwood
