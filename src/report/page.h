// Everything the page shows, gathered: what page_data and page_html turn into JSON and HTML.
// Internal to this folder.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/site_values.h"
#include "contrast/audit.h"
#include "contrast/contrast.h"
#include "contrast/listening.h"
#include "report/clips.h"
#include "report/day_pictures.h"
#include "report/result_table.h"
#include "survey/survey.h"

namespace hearwood {

/// Longer tables that no chart needs stay in hearwood/tables/, so that the page stays small.
inline constexpr std::size_t kMostTableRows = 1000;

struct Page {
    /// Reads the listening check, which the plan carries. Errors: as contrast_plan.
    explicit Page(const Survey& of);

    const Survey& survey;
    ContrastPlan plan;
    std::vector<ListeningResult> heard;  ///< how each index followed the ear; empty: not checked
    SiteValues values;
    std::vector<DeploymentCoverage> coverages;
    std::vector<Finding> troubled;  ///< recordings that are damaged or unreadable
    std::size_t recordings = 0;
    std::vector<Finding> findings;  ///< audit of the design, the worst first
    bool audited = false;
    std::string looked_at;  ///< what the audit held against the classes, a sentence
    std::map<std::string, ResultTable> results;  ///< by file name, those that are there
    std::vector<ContrastRow> contrasts;          ///< rows of contrasts.csv
    bool contrasts_stale = false;                ///< they do not agree with the values measured now
    DayPictures days;
    std::vector<Clip> clips;
    std::vector<std::string> stored_columns;  ///< that Clip::values are parallel to
    std::string index, window;                ///< the primary outcome, or what stands in for it
    bool declared = false;                    ///< the survey declares it
    std::vector<std::pair<std::string, std::string>> facts;  ///< versions and checksums
    std::string survey_toml;
    std::string declared_when;  ///< sentences on when the primary outcome was declared
    bool pictures_wanted = true, clips_wanted = true;

    const ResultTable* result(const std::string& file) const;
    /// The row of the primary outcome; null when there is none.
    const ContrastRow* primary() const;
    /// "acoustic complexity index" for "aci"; the name itself when the catalogue has none.
    std::string title_of(const std::string& index) const;
};

/// The rows of contrasts.csv.
std::vector<ContrastRow> contrast_rows(const ResultTable& table, const Survey& survey);

/// False when a site count or a class mean of a row is not that of the values at hand: the file was
/// written before something was measured, or under other settings. Rows of indices that the values
/// lack are not judged.
bool agree(const std::vector<ContrastRow>& rows, const Survey& survey, const SiteValues& values);

}  // namespace hearwood
