#include "report/page_next.h"

#include <cmath>

#include "contrast/variance.h"
#include "report/page_html.h"

namespace hearwood {

namespace {

using Json = nlohmann::ordered_json;

template <class Row>
bool shown_by(const ContrastRow& contrast, const Row& row) {
    return row.index == contrast.index && row.window == contrast.window;
}

Json bounded(double width) {
    return std::isfinite(width) ? Json(width) : Json(nullptr);
}

}  // namespace

Json effort_json(const Page& page) {
    Json list = Json::array();
    const ContrastRow* contrast = page.primary();
    if (!contrast) return list;
    for (const EffortRow& row : page.contrast.efforts)
        if (shown_by(*contrast, row))
            list.push_back({{"dates", row.point.dates},
                            {"width", bounded(row.point.width_median)},
                            {"low", bounded(row.point.width_low)},
                            {"high", bounded(row.point.width_high)}});
    return list;
}

Html next_section(const Page& page) {
    const ContrastRow* contrast = page.primary();
    if (!contrast) return {};
    for (const VarianceRow& row : page.contrast.variances)
        if (shown_by(*contrast, row))
            return section("next", "Next season",
                           paragraph(next_season(row.components, *contrast)) + charts({"effort"}));
    return {};
}

}  // namespace hearwood
