#include "report/page.h"

#include <algorithm>

namespace hearwood {

const NamedTable* Page::result(const std::string& file) const {
    const auto found = results.find(file);
    return found == results.end() ? nullptr : &found->second;
}

const ContrastRow* Page::primary() const {
    const std::vector<ContrastRow>& rows = contrast.contrasts;
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const auto& row) {
        return row.index == index && row.window == window;
    });
    return found == rows.end() ? nullptr : &*found;
}

std::string Page::title_of(const std::string& name) const {
    const int place = values.column(name);
    return place < 0 ? name : values.columns[static_cast<std::size_t>(place)].title;
}

EffortHours effort_hours(const Page& page) {
    EffortHours hours;
    for (const DeploymentCoverage& coverage : page.coverages) {
        hours.expected += coverage.expected / 60;
        hours.present += coverage.present / 60;
        hours.usable += coverage.usable / 60;
    }
    return hours;
}

}  // namespace hearwood
