// survey.toml.
#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <iterator>
#include <limits>
#include <tuple>

#include "base/file.h"
#include "base/text.h"
#include "survey/sheets.h"
#include "survey/toml_section.h"
#include "survey/windows.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

constexpr std::uint64_t kLargestSettings = 4u << 20;
constexpr std::size_t kMostBands = 64;

constexpr const char* kSections[] = {"survey",  "stands", "measure",  "bands",
                                     "windows", "screen", "contrast", "names"};

struct Reading {
    Survey& survey;
    const toml::table& root;
    std::vector<Problem>& problems;

    TomlSection section(const std::string& name) const {
        return TomlSection("[" + name + "]", root[name].as_table(), problems);
    }
};

void refuse_unknown_sections(const Reading& reading) {
    const std::vector<std::string> names(std::begin(kSections), std::end(kSections));
    TomlSection top("", &reading.root, reading.problems);
    for (const std::string& key : keys_in_file_order(reading.root)) {
        const bool known = std::find(names.begin(), names.end(), key) != names.end();
        if (known && reading.root[key].is_table()) continue;
        const auto near = nearest(key, names);
        if (known)
            top.refuse(key, "a section is expected",
                       fmt::format("write [{}] on a line of its own", key));
        else if (!reading.root[key].is_table())
            top.refuse(key, "this key stands outside of any section",
                       "write it below the line of its [section]");
        else
            top.refuse(key, fmt::format("there is no section [{}]", key),
                       near ? fmt::format("did you mean [{}]?", *near)
                            : "the sections are " + join(names, ", "));
    }
}

void read_survey_section(const Reading& reading) {
    TomlSection in = reading.section("survey");
    reading.survey.title = in.text("title").value_or("");
    const auto zone = in.text("time_zone");
    if (!in.has("time_zone"))
        in.missing("time_zone", "time_zone = \"Asia/Kuching\"");
    else if (zone && !Zone::find(*zone))
        in.refuse("time_zone", "this machine knows no such time zone", zone_mend(*zone));
    else if (zone)
        reading.survey.time_zone = *zone;
    in.refuse_unknown();
}

void read_stands(const Reading& reading) {
    TomlSection in = reading.section("stands");
    StandSettings& stands = reading.survey.stands;
    stands.factor = in.text("factor").value_or("");
    if (!in.has("factor")) in.missing("factor", "factor = \"nutrient_status\"");
    const auto compare = in.two_texts("compare");
    if (!in.has("compare")) in.missing("compare", "compare = [\"rich\", \"poor\"]");
    if (compare &&
        (compare->first == compare->second || compare->first.empty() || compare->second.empty()))
        in.refuse("compare", "two different classes are compared",
                  "write compare = [\"rich\", \"poor\"]");
    else if (compare)
        std::tie(stands.class_a, stands.class_b) = *compare;
    stands.block = in.text("block").value_or("");
    if (!stands.block.empty() && stands.block == stands.factor)
        in.refuse("block", "a column cannot be the factor and the block at once",
                  "name another column, or take the line out");
    stands.listening_distance_m =
        in.number("listening_distance_m", 0, 100'000).value_or(stands.listening_distance_m);
    in.refuse_unknown();
}

/// Frame and hop: a frame of another length brings the hop along, unless the survey names one.
void read_frame(TomlSection& in, MeasureSettings& measure) {
    if (const auto frame = in.integer("frame", 16, 65'536)) {
        if (*frame % 2 != 0)
            in.refuse("frame", "a frame has an even number of samples",
                      "choose a power of two such as 512");
        else
            measure.frame = measure.hop = static_cast<int>(*frame);
    }
    const auto hop = in.integer("hop", 1, 65'536);
    if (hop && *hop > measure.frame)
        in.refuse("hop",
                  fmt::format("a hop longer than the frame ({}) would skip samples", measure.frame),
                  "choose at most the frame's length");
    else if (hop)
        measure.hop = static_cast<int>(*hop);
}

void read_measure(const Reading& reading) {
    TomlSection in = reading.section("measure");
    MeasureSettings& measure = reading.survey.measure;
    measure.segment_s = in.number("segment_s", 1, 3600).value_or(measure.segment_s);
    read_frame(in, measure);
    if (const auto range = in.range_hz("range_hz")) {
        measure.range_low_hz = range->first;
        measure.range_high_hz = range->second;
    }
    measure.step_s = in.number("step_s", 0.01, 3600).value_or(measure.step_s);
    if (measure.step_s > measure.segment_s)
        in.refuse("step_s",
                  fmt::format("a step of {} s does not fit into a segment of {} s",
                              format_number(measure.step_s), format_number(measure.segment_s)),
                  "choose a shorter step or a longer segment");
    const auto band = [&](const std::string& key, Band& into) {
        if (const auto range = in.range_hz(key)) std::tie(into.low_hz, into.high_hz) = *range;
    };
    band("anthrophony_hz", measure.anthrophony);
    band("biophony_hz", measure.biophony);
    in.refuse_unknown();
}

void read_bands(const Reading& reading) {
    const toml::table* table = reading.root["bands"].as_table();
    if (!table) return;
    TomlSection in = reading.section("bands");
    std::vector<Band>& bands = reading.survey.measure.bands;
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

void read_screen(const Reading& reading) {
    TomlSection in = reading.section("screen");
    ScreenSettings& screen = reading.survey.screen;
    for (const ScreenSwitch& key : kScreenSwitches)
        screen.*key.member = in.truth(key.key).value_or(screen.*key.member);
    for (const ScreenThreshold& key : kScreenThresholds)
        screen.*key.member = in.number(key.key, key.least, key.most).value_or(screen.*key.member);
    in.refuse_unknown();
}

/// primary = { index = "aci", window = "dawn" }. Whether the index exists is known further down the
/// line.
void read_primary(TomlSection& contrast, const Reading& reading) {
    const toml::table* table = contrast.table("primary");
    if (!table) return;
    TomlSection in("[contrast] primary", table, reading.problems);
    ContrastSettings& settings = reading.survey.contrast;
    settings.primary_index = in.text("index").value_or("");
    settings.primary_window = in.text("window").value_or("");
    if (!in.has("index")) in.missing("index", "index = \"aci\"");
    if (!in.has("window")) in.missing("window", "window = \"dawn\"");
    std::vector<std::string> windows;
    for (const Window& window : reading.survey.windows) windows.push_back(window.name);
    if (!settings.primary_window.empty() &&
        std::find(windows.begin(), windows.end(), settings.primary_window) == windows.end()) {
        const auto near = nearest(settings.primary_window, windows);
        in.refuse("window", "the survey has no such window",
                  near ? fmt::format("did you mean '{}'?", *near)
                       : "its windows are " + join(windows, ", "));
    }
    in.refuse_unknown();
}

void read_contrast(const Reading& reading) {
    TomlSection in = reading.section("contrast");
    ContrastSettings& settings = reading.survey.contrast;
    read_primary(in, reading);
    settings.seed =
        static_cast<std::uint64_t>(in.integer("seed", 0, std::numeric_limits<std::int64_t>::max())
                                       .value_or(static_cast<std::int64_t>(settings.seed)));
    settings.level = in.number("level", 0.5, 0.999).value_or(settings.level);
    in.refuse_unknown();
}

void read_names(const Reading& reading) {
    TomlSection in = reading.section("names");
    reading.survey.start_time_pattern = in.text("start_time").value_or("");
    if (in.has("start_time") && trim(reading.survey.start_time_pattern).empty())
        in.refuse("start_time", "an empty pattern fits no name",
                  "write one such as \"*_%Y%m%d_%H%M%S\", or take the line out");
    in.refuse_unknown();
}

std::optional<toml::table> parse_settings(const Survey& survey, std::vector<Problem>& problems) {
    const auto path = survey.folder / kSettingsFile;
    const auto refuse = [&](std::size_t line, std::size_t column, std::string what,
                            std::string mend) {
        problems.push_back({.file = kSettingsFile,
                            .line = line,
                            .column = column,
                            .what = std::move(what),
                            .mend = std::move(mend)});
        return std::nullopt;
    };
    if (!std::filesystem::is_regular_file(path))
        return refuse(0, 0, "there is no such file in " + survey.folder.string(),
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

void read_settings(Survey& survey, std::vector<Problem>& problems) {
    survey.windows = built_in_windows();
    const auto root = parse_settings(survey, problems);
    if (!root) return;
    const Reading reading{survey, *root, problems};
    refuse_unknown_sections(reading);
    read_survey_section(reading);
    read_stands(reading);
    read_measure(reading);
    read_bands(reading);
    read_windows(root->get_as<toml::table>("windows"), survey.windows, problems);
    read_screen(reading);
    read_contrast(reading);
    read_names(reading);
}

}  // namespace hearwood
