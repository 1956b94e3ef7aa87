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
#include "store/json.h"

namespace hearwood {

namespace {

// Keys of this kind of object are always sorted.
using Json = nlohmann::json;

Json range(double low, std::optional<double> high) {
    return Json::array({low, high ? Json(*high) : Json(nullptr)});
}

/// A setting as JSON, by the type of its member.
struct JsonOf {
    Settings& settings;

    Json operator()(Band& (*member)(Settings&)) const {
        return range(member(settings).low_hz, member(settings).high_hz);
    }
    Json operator()(OpenRange (*member)(Settings&)) const {
        return range(member(settings).low_hz, member(settings).high_hz);
    }
    Json operator()(TwoTexts (*member)(Settings&)) const {
        return Json::array({member(settings).first, member(settings).second});
    }
    Json operator()(OutcomeName (*member)(Settings&)) const {
        return Json::array({member(settings).index, member(settings).window});
    }
    Json operator()(std::optional<double>& (*member)(Settings&)) const {
        return member(settings) ? Json(*member(settings)) : Json(nullptr);
    }
    template <class Plain>
    Json operator()(Plain& (*member)(Settings&)) const {
        return member(settings);
    }
};

std::string value_text(const Json& value) {
    if (value.is_number()) return format_number(value.get<double>());
    if (value.is_null()) return "top";
    if (!value.is_array()) return value.is_string() ? value.get<std::string>() : json_text(value);
    std::vector<std::string> parts;
    for (const Json& part : value) parts.push_back(value_text(part));
    return "[" + join(parts, ", ") + "]";
}

/// Every setting by the name it has in survey.toml.
std::map<std::string, std::string> flat(const std::string& text) {
    std::map<std::string, std::string> settings;
    const Json json = read_json_if_any(text);
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

std::string measuring_json(const MeasureSettings& measure,
                           std::span<const SettingSection> sections) {
    Settings settings;
    settings.measure = measure;
    Json json;
    for (const SettingSection& section : sections)
        for (const SettingKey& key : section.keys)
            if (key.measuring) json[key.name] = std::visit(JsonOf{settings}, key.member);
    Json bands = Json::array();  // their order is that of the columns
    for (const Band& band : measure.bands)
        bands.push_back({{"name", band.name}, {"range_hz", range(band.low_hz, band.high_hz)}});
    json["bands"] = bands;
    return json_text(json);
}

StoredSettings measuring_settings(const MeasureSettings& settings) {
    StoredSettings stored;
    stored.json = measuring_json(settings, setting_sections());
    stored.version = kMeasuringVersion;
    for (const auto& columns : {index_columns(settings), quantity_columns()})
        for (const Column& column : columns) stored.columns.push_back(column.name);
    stored.hash = sha256_of(
        fmt::format("{}\n{}\n{}", stored.version, stored.json, join(stored.columns, ",")));
    return stored;
}

std::string section_json(const Settings& settings, std::string_view section) {
    Settings read = settings;  // members are references into settings that may be written
    Json json = Json::object();
    for (const SettingSection& known : setting_sections())
        if (section == known.name)
            for (const SettingKey& key : known.keys)
                json[key.name] = std::visit(JsonOf{read}, key.member);
    return json_text(json);
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
