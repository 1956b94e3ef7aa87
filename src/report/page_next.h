// What more nights or more sites would bring, for the page. Internal to this folder.
#pragma once

#include <nlohmann/json.hpp>

#include "base/html_template.h"
#include "report/page.h"

namespace hearwood {

/// Widths of the shown contrast's interval by dates kept a site: [{dates, width, low, high}], with
/// null for what has no bound; empty where the contrast has no effort curve.
nlohmann::ordered_json effort_json(const Page& page);
/// The sentences on the next season, and a place for the chart; empty without a shown contrast.
Html next_section(const Page& page);

}  // namespace hearwood
