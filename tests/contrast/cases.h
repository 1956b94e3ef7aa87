// Short ways to write units and plans in the tests of this folder.
#pragma once

#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

inline std::vector<Unit> units_of(const std::vector<double>& rich,
                                  const std::vector<double>& poor) {
    std::vector<Unit> units;
    for (std::size_t i = 0; i < rich.size(); ++i)
        units.push_back({"r" + std::to_string(i), "rich", "", rich[i]});
    for (std::size_t i = 0; i < poor.size(); ++i)
        units.push_back({"p" + std::to_string(i), "poor", "", poor[i]});
    return units;
}

/// Pair i stands in block i.
inline std::vector<Unit> pairs_of(const std::vector<double>& rich,
                                  const std::vector<double>& poor) {
    std::vector<Unit> units = units_of(rich, poor);
    for (std::size_t i = 0; i < units.size(); ++i)
        units[i].block = "block " + std::to_string(i % rich.size());
    return units;
}

inline std::vector<SiteValue> values_of(const std::vector<Unit>& units,
                                        const std::string& index = "x",
                                        const std::string& window = "all") {
    std::vector<SiteValue> values;
    for (const Unit& unit : units) values.push_back({index, window, unit});
    return values;
}

inline ContrastPlan rich_and_poor() {
    ContrastPlan plan;
    plan.class_a = "rich";
    plan.class_b = "poor";
    return plan;
}

}  // namespace hearwood
