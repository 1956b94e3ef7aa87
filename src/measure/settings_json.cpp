// The settings that measured numbers depend on, as canonical JSON: one text for one meaning, so
// that its hash tells whether results may stand side by side.
#include <fmt/core.h>

#include <map>
#include <nlohmann/json.hpp>

#include "base/sha256.h"
#include "base/text.h"
#include "index/catalogue.h"
#include "measure/measure.h"
#include "screen/quantities.h"

namespace hearwood {

namespace {

// Keys of this kind of object are always sorted.
using Json = nlohmann::json;

Json range(double low, std::optional<double> high) {
    return Json::array({low, high ? Json(*high) : Json(nullptr)});
}

std::string canonical_json(const MeasureSettings& settings) {
    Json bands = Json::array();  // their order is that of the columns
    for (const Band& band : settings.bands)
        bands.push_back({{"name", band.name}, {"range_hz", range(band.low_hz, band.high_hz)}});
    return Json{
        {"segment_s", settings.segment_s},
        {"frame", settings.frame},
        {"hop", settings.hop},
        {"range_hz", range(settings.range_low_hz, settings.range_high_hz)},
        {"step_s", settings.step_s},
        {"anthrophony_hz", range(settings.anthrophony.low_hz, settings.anthrophony.high_hz)},
        {"biophony_hz", range(settings.biophony.low_hz, settings.biophony.high_hz)},
        {"bands", bands}}
        .dump();
}

std::string value_text(const Json& value) {
    if (value.is_number()) return format_number(value.get<double>());
    if (value.is_null()) return "top";
    if (!value.is_array()) return value.is_string() ? value.get<std::string>() : value.dump();
    std::vector<std::string> parts;
    for (const Json& part : value) parts.push_back(value_text(part));
    return "[" + join(parts, ", ") + "]";
}

/// Every setting by the name it has in survey.toml.
std::map<std::string, std::string> flat(const std::string& text) {
    std::map<std::string, std::string> settings;
    const Json json = Json::parse(text, nullptr, false);
    if (!json.is_object()) return settings;
    for (const auto& [key, value] : json.items()) {
        if (key != "bands") {
            settings[key] = value_text(value);
            continue;
        }
        for (const Json& band : value)
            settings["band " + value_text(band["name"])] = value_text(band["range_hz"]);
    }
    return settings;
}

}  // namespace

StoredSettings measuring_settings(const MeasureSettings& settings) {
    StoredSettings stored;
    stored.json = canonical_json(settings);
    stored.version = kMeasuringVersion;
    for (const auto& columns : {index_columns(settings), quantity_columns()})
        for (const Column& column : columns) stored.columns.push_back(column.name);
    stored.hash = sha256_of(
        fmt::format("{}\n{}\n{}", stored.version, stored.json, join(stored.columns, ",")));
    return stored;
}

std::string settings_difference(const StoredSettings& before, const StoredSettings& now) {
    std::vector<std::string> differences;
    const auto old_settings = flat(before.json), new_settings = flat(now.json);
    for (const auto& [name, value] : old_settings) {
        const auto found = new_settings.find(name);
        if (found == new_settings.end())
            differences.push_back(fmt::format("{} no longer there", name));
        else if (found->second != value)
            differences.push_back(fmt::format("{} {} -> {}", name, value, found->second));
    }
    for (const auto& [name, value] : new_settings)
        if (!old_settings.contains(name))
            differences.push_back(fmt::format("{} {} new", name, value));
    if (before.version != now.version)
        differences.push_back(
            fmt::format("measuring version {} -> {}", before.version, now.version));
    if (differences.empty() && before.columns != now.columns)
        differences.push_back("this version of the program measures other columns");
    // Nothing but the order of the bands is left.
    if (differences.empty() && before.json != now.json)
        differences.push_back("the order of the bands");
    return join(differences, ", ");
}

}  // namespace hearwood
