// The deployments as events of Darwin Core (Biodiversity Information Standards): event.csv, the
// descriptor meta.xml of the Darwin Core text guide, and eml.xml, a description of the data set in
// the Ecological Metadata Language. Terms and elements were written down from memory of the
// standards.
#pragma once

#include <string>
#include <vector>

#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

/// A deployment, as an event.
struct FieldEvent {
    std::string id, date;  ///< ISO 8601, an interval where both ends are known
    std::string location, habitat;
    double latitude = 0, longitude = 0;
    std::optional<double> elevation_m;
    std::optional<double> uncertainty_m;  ///< of coarse coordinates
    double step = 0;                      ///< degrees they were rounded to; 0: not
    double minutes = 0;                   ///< recorded
};

/// `survey` with the coordinates to be told, `steps` by site, `minutes` by deployment.
std::vector<FieldEvent> field_events(const Survey& survey, const std::vector<double>& steps,
                                     const std::vector<double>& minutes);
/// event.csv; its columns are the terms.
TableOf<FieldEvent> event_table();
/// meta.xml: event.csv is the core, eml.xml tells of it.
std::string archive_descriptor();
std::string ecological_metadata(const Survey& survey, const std::vector<FieldEvent>& events);

}  // namespace hearwood
