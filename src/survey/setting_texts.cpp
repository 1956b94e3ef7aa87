// What the rows of setting_keys.cpp look like in a new survey.toml and in the manual.
#include <fmt/format.h>

#include <cmath>
#include <map>

#include "base/text.h"
#include "survey/setting_keys.h"

namespace hearwood {

namespace {

constexpr std::string_view kTableBegins = "<!-- keys of [";
constexpr std::string_view kTableEnds = "<!-- end of keys -->";

std::string quoted(const std::string& text) {
    return '"' + text + '"';
}

std::string hertz(double low, double high) {
    return fmt::format("[{}, {}]", format_number(low), format_number(high));
}

/// A default as it would be written in the file; empty where there is none to write.
struct DefaultText {
    Settings& settings;

    std::string operator()(std::string& (*member)(Settings&)) const {
        const std::string& text = member(settings);
        return text.empty() ? "" : quoted(text);
    }
    std::string operator()(std::vector<std::string>& (*member)(Settings&)) const {
        std::vector<std::string> parts;
        for (const std::string& text : member(settings)) parts.push_back(quoted(text));
        return parts.empty() ? "" : "[" + join(parts, ", ") + "]";
    }
    std::string operator()(bool& (*member)(Settings&)) const {
        return member(settings) ? "true" : "false";
    }
    std::string operator()(int& (*member)(Settings&)) const {
        return std::to_string(member(settings));
    }
    std::string operator()(std::uint64_t& (*member)(Settings&)) const {
        return std::to_string(member(settings));
    }
    std::string operator()(double& (*member)(Settings&)) const {
        return format_number(member(settings));
    }
    std::string operator()(std::optional<double>& (*member)(Settings&)) const {
        const std::optional<double> number = member(settings);
        return number ? format_number(*number) : "";
    }
    std::string operator()(Band& (*member)(Settings&)) const {
        const Band& band = member(settings);
        return hertz(band.low_hz, band.high_hz);
    }
    std::string operator()(OpenRange (*member)(Settings&)) const {
        const OpenRange range = member(settings);
        return range.high_hz ? hertz(range.low_hz, *range.high_hz) : "";
    }
    std::string operator()(TwoTexts (*)(Settings&)) const { return ""; }
    std::string operator()(OutcomeName (*)(Settings&)) const { return ""; }
};

std::string default_text(const SettingKey& key) {
    Settings defaults;
    return std::visit(DefaultText{defaults}, key.member);
}

/// "1 to 3600 s", for the manual; empty for what has no bounds.
struct RangeText {
    const SettingKey& key;

    std::string operator()(bool& (*)(Settings&)) const { return ""; }  // its default tells
    std::string operator()(int& (*)(Settings&)) const { return bounds(); }
    std::string operator()(std::uint64_t& (*)(Settings&)) const { return "0 or more"; }
    std::string operator()(double& (*)(Settings&)) const { return bounds(); }
    std::string operator()(std::optional<double>& (*)(Settings&)) const { return bounds(); }
    std::string operator()(std::vector<std::string>& (*)(Settings&)) const {
        return fmt::format("at most {}", plain(key.most));
    }
    template <class Other>
    std::string operator()(Other (*)(Settings&)) const {
        return key.unit;
    }

    static std::string plain(double bound) {
        const bool whole = bound == std::floor(bound) && std::abs(bound) < 1e15;
        return whole ? fmt::format("{:.0f}", bound) : format_number(bound);
    }
    std::string bounds() const {
        const std::string unit = key.unit == std::string_view("1") ? "" : key.unit;
        return trim(fmt::format("{} to {} {}", plain(key.least), plain(key.most), unit));
    }
};

std::string meaning_of(const SettingKey& key) {
    std::string text = key.meaning;
    if (key.example[0]) text += fmt::format(", e.g. `{}`", key.example);
    if (key.more[0]) text += fmt::format("; {}", key.more);
    return text;
}

/// What stands beside a key's name: " = 512 (16 to 65536 samples): samples of one transform".
std::string told_of(const SettingKey& key) {
    const std::string value = default_text(key);
    const bool shown = !value.empty() && !key.otherwise;
    const std::string range = std::visit(RangeText{key}, key.member);
    return fmt::format("{}{}: {}",
                       key.needed ? " (needed)"
                       : shown    ? " = " + value
                                  : fmt::format(" = {}", key.without),
                       range.empty() ? "" : " (" + range + ")", meaning_of(key));
}

/// Neighbouring keys of which the same is said share a line.
std::string list_of(const SettingSection& section) {
    std::string text;
    for (std::size_t i = 0; i < section.keys.size(); ++i) {
        const std::string told = told_of(section.keys[i]);
        std::string names = fmt::format("`{}`", section.keys[i].name);
        while (i + 1 < section.keys.size() && told_of(section.keys[i + 1]) == told)
            names += fmt::format(", `{}`", section.keys[++i].name);
        text += fmt::format("* {}{}\n", names, told);
    }
    return text;
}

}  // namespace

std::string settings_template(std::span<const SettingSection> sections) {
    std::string text;
    for (const SettingSection& section : sections) {
        if (!section.in_new_survey) continue;
        text += fmt::format("\n[{}]\n{}", section.name, section.intro);
        for (const SettingKey& key : section.keys) {
            const std::string value = key.example[0] ? key.example : default_text(key);
            text += fmt::format(
                "{:<35} # {}\n",
                fmt::format("{}{} = {}", key.needed || key.in_use ? "" : "#", key.name, value),
                key.meaning);
        }
    }
    return text;
}

std::string with_settings_tables(const std::string& page,
                                 std::span<const SettingSection> sections) {
    std::string text;
    std::map<std::string, std::string> told_by;  // which section of the page has this list
    std::size_t at = 0;
    while (true) {
        const std::size_t begin = page.find(kTableBegins, at);
        const std::size_t line_end = page.find('\n', begin);
        const std::size_t end = page.find(kTableEnds, begin);
        if (begin == std::string::npos || end == std::string::npos) return text + page.substr(at);
        const std::size_t name = begin + kTableBegins.size();
        const std::string section = page.substr(name, page.find(']', name) - name);
        text += page.substr(at, line_end + 1 - at);
        for (const SettingSection& candidate : sections) {
            if (candidate.name != section) continue;
            const std::string list = list_of(candidate);
            const std::string& first = told_by.try_emplace(list, section).first->second;
            text += "\n" + (first == section ? list : "Keys as in [" + first + "].\n") + "\n";
        }
        at = end;
    }
}

}  // namespace hearwood
