#include "contrast/units.h"

#include <algorithm>
#include <map>
#include <set>

#include "base/missing.h"

namespace hearwood {

namespace {

/// Blocks of the units in which only one class is left.
std::set<std::string> single_class_blocks(std::span<const Unit> units) {
    std::map<std::string, std::set<std::string>> classes;
    for (const Unit& unit : units) classes[unit.block].insert(unit.stand);
    std::set<std::string> single;
    for (const auto& [block, stands] : classes)
        if (stands.size() < 2) single.insert(block);
    return single;
}

Layout layout_of(std::span<const Unit> units, std::span<const std::string> classes) {
    Layout layout;
    std::map<std::string, int> blocks;
    for (const Unit& unit : units) blocks.emplace(unit.block, 0);
    int next = 0;
    for (auto& [name, number] : blocks) number = next++;
    for (const Unit& unit : units) {
        const auto place = std::find(classes.begin(), classes.end(), unit.stand);
        layout.classes.push_back(static_cast<int>(place - classes.begin()));
        layout.blocks.push_back(blocks[unit.block]);
    }
    layout.class_count = static_cast<int>(classes.size());
    layout.block_count = std::max(next, 1);
    return layout;
}

}  // namespace

ReadyUnits ready_units(std::span<const Unit> units, std::span<const std::string> classes) {
    ReadyUnits ready;
    for (const Unit& unit : units) {
        if (std::find(classes.begin(), classes.end(), unit.stand) == classes.end()) continue;
        ready.has_blocks = ready.has_blocks || !unit.block.empty();
        if (!is_missing(unit.value))
            ready.units.push_back(unit);
        else
            ready.missing_sites.push_back(unit.site);
    }
    std::sort(ready.units.begin(), ready.units.end(),
              [](const Unit& x, const Unit& y) { return x.site < y.site; });
    std::sort(ready.missing_sites.begin(), ready.missing_sites.end());
    if (ready.has_blocks) {
        const std::set<std::string> single = single_class_blocks(ready.units);
        std::erase_if(ready.units, [&](const Unit& unit) { return single.contains(unit.block); });
        ready.dropped_blocks.assign(single.begin(), single.end());
    }
    ready.layout = layout_of(ready.units, classes);
    ready.counts.assign(classes.size(), 0);
    for (const int number : ready.layout.classes) ++ready.counts[number];
    return ready;
}

std::vector<double> values_of(std::span<const Unit> units) {
    std::vector<double> values;
    for (const Unit& unit : units) values.push_back(unit.value);
    return values;
}

double class_mean(const ReadyUnits& ready, int class_number) {
    double sum = 0;
    int count = 0;
    for (std::size_t i = 0; i < ready.units.size(); ++i) {
        if (ready.layout.classes[i] != class_number) continue;
        sum += ready.units[i].value;
        ++count;
    }
    return count > 0 ? sum / count : kMissing;
}

double difference_of(const ReadyUnits& ready) {
    const std::vector<double> residuals = block_residuals(values_of(ready.units), ready.layout);
    double sum = 0;
    for (std::size_t i = 0; i < residuals.size(); ++i)
        if (ready.layout.classes[i] == 0) sum += residuals[i];
    return sum / information(ready.layout);
}

double residual_variance(const ReadyUnits& ready) {
    double squares = 0;
    for (const double e : block_residuals(values_of(ready.units), ready.layout)) squares += e * e;
    const double difference = difference_of(ready);
    const double df = static_cast<double>(ready.units.size()) - ready.layout.block_count - 1;
    if (df <= 0) return kMissing;
    return std::max(0.0, squares - difference * difference * information(ready.layout)) / df;
}

}  // namespace hearwood
