#include "report/page.h"

#include <algorithm>

namespace hearwood {

const NamedTable* Page::result(const std::string& file) const {
    const auto found = results.find(file);
    return found == results.end() ? nullptr : &found->second;
}

const ContrastRow* Page::beside(const std::string& other) const {
    const std::vector<ContrastRow>& rows = contrast.contrasts;
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const auto& row) {
        return row.index == other && row.window == window;
    });
    return found == rows.end() ? nullptr : &*found;
}

const ContrastRow* Page::primary() const {
    return beside(index);
}

std::vector<std::pair<std::string, std::string>> Page::left_out() const {
    std::vector<std::pair<std::string, std::string>> list;
    const ContrastRow* row = primary();
    if (!row) return list;
    const auto among = [](const std::vector<std::string>& names, const std::string& name) {
        return std::find(names.begin(), names.end(), name) != names.end();
    };
    for (const Site& site : survey.sites) {
        if (site.stand != row->class_a && site.stand != row->class_b) continue;
        if (among(row->missing_sites, site.name))
            list.emplace_back(site.name, "no value");
        else if (among(row->dropped_blocks, site.block))
            list.emplace_back(site.name, "only one class is left in the block " + site.block);
    }
    return list;
}

std::string Page::unit_behind(const std::string& name) const {
    for (const Column& column : values.columns)
        if (column.name == name && column.unit != "1")
            return (column.unit.starts_with("1/") ? column.unit.substr(1) : " " + column.unit);
    return {};
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
