// Everything the page shows, gathered: what page_data and page_html turn into JSON and HTML.
// Internal to this folder.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/site_values.h"
#include "aggregate/sound_path.h"
#include "contrast/audit.h"
#include "contrast/kept_results.h"
#include "contrast/survey_contrast.h"
#include "report/clip_pairs.h"
#include "report/clips.h"
#include "report/day_pictures.h"
#include "report/page_hours.h"
#include "survey/survey.h"

namespace hearwood {

/// Kept, averaged segments of a site and hour that carry a flag which does not exclude: boats,
/// wind.
struct KeptFlag {
    std::size_t site = 0;
    int hour = 0;
    std::string reason;
    int segments = 0, kept = 0;  ///< with the flag; all of them
};

/// Longer tables that no chart needs stay in hearwood/tables/, so that the page stays small.
inline constexpr std::size_t kMostTableRows = 1000;

struct Page {
    explicit Page(const Survey& of) : survey(of) {}

    const Survey& survey;
    SurveyContrast contrast;  ///< with the plan alone, and no rows, where it was refused
    std::string refused;      ///< why, in sentences
    KeptTrials trials;        ///< how far sound carries
    KeptResults kept;         ///< robustness and the listening score, those of today
    SiteValues values;
    std::vector<DeploymentCoverage> coverages;
    LostGatherer::Lost lost;           ///< minutes recorded and not used, by what took them
    std::vector<Finding> unusable;     ///< recordings that are damaged or unreadable
    std::vector<KeptFlag> kept_flags;  ///< by site, hour, reason
    std::size_t recordings = 0;
    std::map<std::string, NamedTable> results;  ///< of the above, by the name of their CSV file
    DayPictures days;
    std::vector<Clip> clips;
    ClipPairs pairs;
    std::vector<std::string> stored_columns;  ///< that Clip::values are parallel to
    std::string index, window;                ///< the primary outcome, or what stands in for it
    bool declared = false;                    ///< the survey declares it
    std::string clip_index;  ///< that clips are chosen by: the primary's where segments have it
    std::vector<std::pair<std::string, std::string>> facts;  ///< versions and checksums
    std::string survey_toml;
    std::string declared_when;  ///< sentences on when the primary outcome was declared
    bool pictures_wanted = true, clips_wanted = true;

    const NamedTable* result(const std::string& file) const;
    /// The row of the primary outcome; null when there is none.
    const ContrastRow* primary() const;
    /// Of its window, for another index.
    const ContrastRow* beside(const std::string& index) const;
    /// Sites of the two classes that the shown contrast leaves out, with why; in the sheet's order.
    std::vector<std::pair<std::string, std::string>> left_out() const;
    /// "acoustic complexity index" for "aci"; the name itself when the catalogue has none.
    std::string title_of(const std::string& index) const;
    /// " dB", "/min"; nothing behind a pure number.
    std::string unit_behind(const std::string& name) const;
};

/// Sums over the deployments, in hours.
struct EffortHours {
    double expected = 0, present = 0, usable = 0;
};
EffortHours effort_hours(const Page& page);

}  // namespace hearwood
