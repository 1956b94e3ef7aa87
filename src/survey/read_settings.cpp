// survey.toml: the keys of setting_keys.cpp, and the two sections whose names the survey chooses.
#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <limits>
#include <tuple>

#include "base/file.h"
#include "base/text.h"
#include "survey/setting_keys.h"
#include "survey/sheets.h"
#include "survey/toml_section.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

constexpr std::uint64_t kLargestSettings = 4u << 20;
constexpr std::size_t kMostBands = 64;

void refuse_unknown_sections(const toml::table& root, std::span<const SettingSection> sections,
                             std::vector<Problem>& problems) {
    std::vector<std::string> names;
    for (const SettingSection& section : sections) names.push_back(section.name);
    TomlSection top("", &root, problems);
    for (const std::string& key : keys_in_file_order(root)) {
        const bool known = std::find(names.begin(), names.end(), key) != names.end();
        if (known && root[key].is_table()) continue;
        const auto near = nearest(key, names);
        if (known)
            top.refuse(key, "a section is expected",
                       fmt::format("write [{}] on a line of its own", key));
        else if (!root[key].is_table())
            top.refuse(key, "this key stands outside of any section",
                       "write it below the line of its [section]");
        else
            top.refuse(key, fmt::format("there is no section [{}]", key),
                       near ? fmt::format("did you mean [{}]?", *near)
                            : "the sections are " + join(names, ", "));
    }
}

/// Takes a key's value into the settings, by the type of its member. What is malformed or not there
/// changes nothing; the section says what is wrong.
struct KeyReader {
    TomlSection& in;
    const SettingKey& key;
    Settings& settings;
    std::vector<Problem>& problems;

    void operator()(std::string& (*member)(Settings&)) const {
        if (auto text = in.text(key.name)) member(settings) = std::move(*text);
    }
    void operator()(std::vector<std::string>& (*member)(Settings&)) const {
        if (auto texts = in.texts(key.name, static_cast<std::size_t>(key.most)))
            member(settings) = std::move(*texts);
    }
    void operator()(bool& (*member)(Settings&)) const {
        if (const auto truth = in.truth(key.name)) member(settings) = *truth;
    }
    void operator()(int& (*member)(Settings&)) const {
        if (const auto number = in.integer(key.name, static_cast<std::int64_t>(key.least),
                                           static_cast<std::int64_t>(key.most)))
            member(settings) = static_cast<int>(*number);
    }
    void operator()(std::uint64_t& (*member)(Settings&)) const {
        if (const auto number = in.integer(key.name, 0, std::numeric_limits<std::int64_t>::max()))
            member(settings) = static_cast<std::uint64_t>(*number);
    }
    void operator()(double& (*member)(Settings&)) const {
        if (const auto number = in.number(key.name, key.least, key.most))
            member(settings) = *number;
    }
    void operator()(std::optional<double>& (*member)(Settings&)) const {
        if (const auto number = in.number(key.name, key.least, key.most)) member(settings) = number;
    }
    void operator()(Band& (*member)(Settings&)) const {
        if (const auto range = in.range_hz(key.name))
            std::tie(member(settings).low_hz, member(settings).high_hz) = *range;
    }
    void operator()(OpenRange (*member)(Settings&)) const {
        const OpenRange into = member(settings);
        if (const auto range = in.range_hz(key.name)) std::tie(into.low_hz, into.high_hz) = *range;
    }
    void operator()(TwoTexts (*member)(Settings&)) const {
        const TwoTexts into = member(settings);
        if (const auto texts = in.two_texts(key.name)) std::tie(into.first, into.second) = *texts;
    }
    void operator()(OutcomeName (*member)(Settings&)) const;
};

/// { index = "aci", window = "dawn" }. Whether the index exists is known further down the line.
void KeyReader::operator()(OutcomeName (*member)(Settings&)) const {
    const toml::table* table = in.table(key.name);
    if (!table) return;
    TomlSection inner(fmt::format("{} {}", in.name(), key.name), table, problems);
    const OutcomeName into = member(settings);
    into.index = inner.text("index").value_or("");
    into.window = inner.text("window").value_or("");
    if (!inner.has("index")) inner.missing("index", "index = \"aci\"");
    if (!inner.has("window")) inner.missing("window", "window = \"dawn\"");
    std::vector<std::string> windows;
    for (const Window& window : settings.windows) windows.push_back(window.name);
    if (!into.window.empty() && !window_named(settings.windows, into.window)) {
        const auto near = nearest(into.window, windows);
        inner.refuse("window", "the survey has no such window",
                     near ? fmt::format("did you mean '{}'?", *near)
                          : "its windows are " + join(windows, ", "));
    }
    inner.refuse_unknown();
}

void read_keys(TomlSection& in, std::span<const SettingKey> keys, Settings& settings,
               std::vector<Problem>& problems) {
    for (const SettingKey& key : keys) {
        const std::size_t before = problems.size();
        std::visit(KeyReader{in, key, settings, problems}, key.member);
        if (problems.size() > before) continue;
        if (!in.has(key.name) && key.otherwise) key.otherwise(settings);
        if (!in.has(key.name) && key.needed)
            in.missing(key.name, fmt::format("{} = {}", key.name, key.example));
        else if (const auto refusal = key.check ? key.check(settings) : std::nullopt)
            in.refuse(key.name, refusal->what, refusal->fix);
    }
    in.refuse_unknown();
}

void read_bands(const toml::table* table, std::vector<Band>& bands,
                std::vector<Problem>& problems) {
    if (!table) return;
    TomlSection in("[bands]", table, problems);
    for (const std::string& name : keys_in_file_order(*table)) {
        const auto range = in.range_hz(name);
        if (!in.name_fits(name, "band") || !range) continue;
        if (name == "anthrophony" || name == "biophony")
            in.refuse(name, "this name belongs to the band of that name in [measure]",
                      fmt::format("choose another name, or set {}_hz under [measure]", name));
        else if (bands.size() == kMostBands)
            return in.refuse(name, fmt::format("more than {} bands", kMostBands), "take some out");
        else
            bands.push_back({name, range->first, range->second});
    }
}

std::optional<toml::table> parse_settings(const std::filesystem::path& folder,
                                          std::vector<Problem>& problems) {
    const auto path = folder / kSettingsFile;
    const auto refuse = [&](std::size_t line, std::size_t column, std::string what,
                            std::string fix) {
        problems.push_back({.file = kSettingsFile,
                            .line = line,
                            .column = column,
                            .what = std::move(what),
                            .fix = std::move(fix)});
        return std::nullopt;
    };
    if (!std::filesystem::is_regular_file(path))
        return refuse(0, 0, "there is no such file in " + folder.string(),
                      "name the survey's folder, or make a new one with: hearwood init DIR");
    try {
        const std::string text = read_whole_file(path, kLargestSettings);
        if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
            return refuse(0, 0, "this is UTF-16 text", "save it again as UTF-8 text");
        return toml::parse(text);
    } catch (const toml::parse_error& error) {
        return refuse(error.source().begin.line, error.source().begin.column,
                      std::string(error.description()),
                      "correct this line; what stands after it was not checked yet");
    } catch (const InputError& error) {
        for (Problem problem : error.problems()) {
            problem.file = kSettingsFile;
            problems.push_back(std::move(problem));
        }
        return {};
    }
}

}  // namespace

void read_settings(const std::filesystem::path& folder, std::span<const SettingSection> sections,
                   Settings& settings, std::vector<Problem>& problems) {
    settings.windows = built_in_windows();
    const auto root = parse_settings(folder, problems);
    if (!root) return;
    refuse_unknown_sections(*root, sections, problems);
    for (const SettingSection& section : sections) {
        const std::string_view name = section.name;
        const toml::table* table = root->get_as<toml::table>(name);
        if (name == "bands") {
            read_bands(table, settings.measure.bands, problems);
        } else if (name == "windows") {
            read_windows(table, settings.windows, problems);
        } else {
            TomlSection in(fmt::format("[{}]", name), table, problems);
            read_keys(in, section.keys, settings, problems);
        }
    }
}

}  // namespace hearwood
