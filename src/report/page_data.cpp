#include "report/page_data.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "base/missing.h"
#include "base/version.h"
#include "contrast/words.h"
#include "picture/palette.h"
#include "report/page_next.h"
#include "report/page_pitch.h"
#include "report/page_words.h"
#include "screen/rules.h"
#include "store/json.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using Json = nlohmann::ordered_json;

/// Minutes from sunrise that the dawn chart shows, in steps.
constexpr int kFirstShownStep = -90 / kStepMinutes, kEndShownStep = 180 / kStepMinutes;

Json number(double value) {
    if (is_missing(value)) return nullptr;
    if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
    // 120, not 120.0, where the table has a whole number.
    if (value == std::floor(value) && std::abs(value) < 1e15)
        return static_cast<std::int64_t>(value);
    return value;
}

Json cell(const TableCell& value) {
    if (const auto* x = std::get_if<double>(&value)) return number(*x);
    if (const auto* whole = std::get_if<std::int64_t>(&value)) return *whole;
    if (const auto* word = std::get_if<std::string>(&value)) return *word;
    return nullptr;
}

Json table(const std::string& file, std::vector<std::string> columns) {
    return {{"file", file.empty() ? Json(nullptr) : Json(file)},
            {"columns", std::move(columns)},
            {"rows", Json::array()}};
}

Json result(const NamedTable& source) {
    Json json = table(source.description.path, header_of(source.description));
    for (const std::vector<TableCell>& row : source.rows) {
        Json& cells = json["rows"].emplace_back(Json::array());
        for (const TableCell& value : row) cells.push_back(cell(value));
    }
    return json;
}

/// hours.csv and windows.csv: site, stand, part, values, kept, possible, dates, of windows the
/// cells, leans.
Json means(const Page& page, const std::vector<SiteMean>& rows, const std::string& file,
           const std::string& part_name) {
    std::vector<std::string> columns{"site", "stand", part_name};
    for (const Column& column : page.values.columns) columns.push_back(column.name);
    for (const char* name : {"kept", "possible", "dates"}) columns.emplace_back(name);
    if (part_name == "window") columns.emplace_back("cells");
    columns.emplace_back("leans");
    Json json = table(file, std::move(columns));
    for (const SiteMean& row : rows) {
        const Site& site = page.survey.sites[row.site];
        Json cells{site.name, site.stand};
        if (part_name == "window")
            cells.push_back(page.values.windows[static_cast<std::size_t>(row.part)]);
        else
            cells.push_back(row.part);
        for (const double value : row.values) cells.push_back(number(value));
        for (const int count : {row.kept, row.possible, row.dates}) cells.push_back(count);
        if (part_name == "window") cells.push_back(row.cells);
        cells.push_back(number(row.leans));
        json["rows"].push_back(std::move(cells));
    }
    return json;
}

/// Six digits are more than a chart can show, and keep the page small.
Json rounded(double value) {
    if (!std::isfinite(value) || value == 0) return number(value);
    const double scale = std::pow(10, 5 - std::floor(std::log10(std::abs(value))));
    return number(std::round(value * scale) / scale);
}

Json sunrise_steps(const Page& page) {
    std::vector<std::string> names{"site", "stand", "minutes", "dates"};
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < page.values.columns.size(); ++i) {
        if (page.values.columns[i].kind != Column::Kind::index) continue;
        names.push_back(page.values.columns[i].name);
        places.push_back(i);
    }
    Json json = table("", std::move(names));
    for (const SiteMean& row : page.values.steps) {
        if (row.part < kFirstShownStep || row.part >= kEndShownStep) continue;
        const Site& site = page.survey.sites[row.site];
        Json cells{site.name, site.stand, row.part * kStepMinutes, row.dates};
        for (const std::size_t place : places) cells.push_back(rounded(row.values[place]));
        json["rows"].push_back(std::move(cells));
    }
    return json;
}

Json left_out(const Page& page) {
    Json list = Json::array();
    for (const auto& [site, why] : page.left_out()) list.push_back({{"site", site}, {"why", why}});
    return list;
}

/// What decides about each row of contrasts.csv, parallel to it.
Json decisions(const Page& page) {
    Json list = Json::array();
    for (const ContrastRow& row : page.contrast.contrasts)
        list.push_back({{"shown", row.significant()}, {"p", number(row.deciding_p())}});
    return list;
}

/// A setting's contrast in pooled standard deviations, with its interval: g and the difference
/// differ by one factor, which takes the interval along.
Json setting(const SettingRow& row) {
    const ContrastRow& r = row.result;
    const double scale = r.difference != 0 ? r.hedges_g / r.difference : kMissing;
    return {{"g", rounded(r.hedges_g)},           {"low", rounded(r.ci_low * scale)},
            {"high", rounded(r.ci_high * scale)}, {"p", rounded(r.p)},
            {"clear", r.significant()},           {"sign", row.same_sign},
            {"verdict", row.same_significance},   {"levels", row.levels}};
}

Json robustness(const Page& page) {
    if (!page.kept.robustness) return nullptr;
    const Robustness& kept = *page.kept.robustness;
    const Agreement shares = agreement(kept);
    Json json{{"settings", shares.tested},
              {"same_sign", shares.same_sign},
              {"words", robustness_in_words(kept)},
              {"factors", Json::array()},
              {"grid", Json::array()},
              {"without", Json::array()}};
    for (const Factor& factor : kept.factors)
        json["factors"].push_back({{"name", factor.name}, {"levels", factor.levels}});
    for (const SettingRow& row : kept.grid)
        if (row.result.tested()) json["grid"].push_back(setting(row));
    for (const WithoutSite& without : kept.without) {
        if (!without.row.result.tested()) continue;
        Json one = setting(without.row);
        one["site"] = without.site;
        json["without"].push_back(std::move(one));
    }
    return json;
}

/// Hours: the same sums as the page's words have.
Json totals(const Page& page) {
    const EffortHours hours = effort_hours(page);
    return {{"expected_h", number(hours.expected)},
            {"present_h", number(hours.present)},
            {"usable_h", number(hours.usable)}};
}

Json kept_flags(const Page& page) {
    Json json = table("", {"site", "hour", "reason", "segments", "kept"});
    for (const KeptFlag& flag : page.kept_flags)
        json["rows"].push_back(
            {page.survey.sites[flag.site].name, flag.hour, flag.reason, flag.segments, flag.kept});
    return json;
}

/// Minutes by site and date, those lost by what took them.
Json coverage(const Page& page) {
    const SiteHours hours = site_hours(page);
    std::set<std::string> words;
    for (const auto& [key, day] : hours)
        for (const auto& [hour, minutes] : day)
            for (const auto& [word, lost] : minutes.lost) words.insert(word);
    std::vector<std::string> columns{"site", "date", "expected_min", "present_min", "usable_min"};
    for (const std::string& word : words) columns.push_back("lost: " + word + " (min)");
    Json json = table("", std::move(columns));
    const auto tenths = [](double minutes) { return number(std::round(10 * minutes) / 10); };
    for (const auto& [key, day] : hours) {
        SiteHour sum;
        for (const auto& [hour, minutes] : day) {
            sum.expected += minutes.expected;
            sum.present += minutes.present;
            sum.usable += minutes.usable;
            for (const auto& [word, lost] : minutes.lost) sum.lost[word] += lost;
        }
        Json row{page.survey.sites[key.first].name, format_date(key.second), tenths(sum.expected),
                 tenths(sum.present), tenths(sum.usable)};
        for (const std::string& word : words) row.push_back(tenths(sum.lost[word]));
        json["rows"].push_back(std::move(row));
    }
    return json;
}

Json screens(const Page& page) {
    Json json = table("", {"site", "reason", "flagged", "segments", "excludes"});
    const std::vector<std::string> names = excluding(page.survey.screen).names();
    const std::set<std::string> excluding(names.begin(), names.end());
    for (const FlaggedShare& share : page.values.flagged)
        json["rows"].push_back({page.survey.sites[share.site].name, share.reason, share.flagged,
                                share.segments,
                                excluding.contains(share.reason) && !share.question ? 1 : 0});
    return json;
}

Json unusable(const Page& page) {
    Json json = table("", {"deployment", "recording", "state", "why"});
    for (const Finding& finding : page.unusable)
        json["rows"].push_back(
            {finding.subject.part_of, finding.subject.name, title(finding.code), finding.what});
    return json;
}

Json clips(const Page& page) {
    std::vector<std::string> columns{"site",    "window", "rule", "recording",
                                     "channel", "from_s", "to_s"};
    columns.insert(columns.end(), page.stored_columns.begin(), page.stored_columns.end());
    Json json = table("", std::move(columns));
    for (const Clip& clip : page.clips) {
        Json row{page.survey.sites[clip.site].name,
                 page.values.windows[static_cast<std::size_t>(clip.window)],
                 word(clip.rule),
                 clip.recording,
                 clip.channel,
                 number(clip.from_s),
                 number(clip.to_s)};
        for (const double value : clip.values) row.push_back(number(value));
        json["rows"].push_back(std::move(row));
    }
    return json;
}

Json site_table(const Page& page) {
    Json json = table("", {"site", "stand", "block", "latitude", "longitude"});
    for (const Site& site : page.survey.sites)
        json["rows"].push_back({site.name, site.stand, site.block, site.latitude, site.longitude});
    return json;
}

const char* role_of(const Site& site, const StandSettings& stands) {
    return site.stand == stands.class_a ? "a" : site.stand == stands.class_b ? "b" : "other";
}

/// What covariates.csv was worked out from: numeric cells of the site sheet, and of the
/// deployments, averaged.
Json site_numbers(const Survey& survey, std::size_t place) {
    Json numbers = Json::object();
    const Site& site = survey.sites[place];
    const auto& columns = survey.site_columns;
    for (const std::string& column : columns)
        if (column != "site" && column != survey.stands.factor && column != survey.stands.block)
            if (const auto value = number_in(site, survey, column))
                numbers[column] = number(*value);
    for (const std::string& column : survey.deployment_columns) {
        const bool taken = std::find(columns.begin(), columns.end(), column) != columns.end();
        if (const auto value = mean_over_deployments(survey, place, column))
            numbers[taken ? "deployments." + column : column] = number(*value);
    }
    return numbers;
}

Json site_list(const Page& page) {
    Json list = Json::array();
    const Survey& survey = page.survey;
    for (std::size_t i = 0; i < survey.sites.size(); ++i) {
        const Site& site = survey.sites[i];
        list.push_back({{"name", site.name},
                        {"stand", site.stand},
                        {"role", role_of(site, survey.stands)},
                        {"block", site.block},
                        {"latitude", site.latitude},
                        {"longitude", site.longitude},
                        {"texture", std::string(cell_in(site, survey, "mineral_texture"))},
                        {"numbers", site_numbers(survey, i)}});
    }
    return list;
}

/// The numbers of the sheets and of the audit in words: {"elevation_m": ["elevation", "m"]}.
Json number_names(const Page& page) {
    std::set<std::string> names;
    for (const AuditRow& row : page.contrast.audit.numbers) names.insert(row.name);
    for (const CovariateRow& row : page.contrast.covariates) names.insert(row.column);
    Json json = Json::object();
    for (const std::string& name : names) {
        const auto [words, unit] = number_in_words(name);
        json[name] = {words, unit};
    }
    return json;
}

Json columns(const Page& page) {
    Json list = Json::array();
    for (const Column& column : page.values.columns)
        list.push_back({{"name", column.name},
                        {"unit", column.unit},
                        {"kind", column.kind == Column::Kind::index ? "index" : "level"},
                        {"title", column.title}});
    return list;
}

Json tables(const Page& page) {
    Json json = Json::object();
    const std::set<std::string> charted{"contrasts.csv", "profile.csv", "covariates.csv",
                                        "path_loss.csv"};
    for (const auto& [file, source] : page.results)
        if (charted.contains(file) || source.rows.size() <= kMostTableRows)
            json[file.substr(0, file.rfind('.'))] = result(source);
    json["hours"] = means(page, page.values.hours, "hours.csv", "hour");
    json["windows"] = means(page, page.values.window_means, "windows.csv", "window");
    json["sunrise"] = sunrise_steps(page);
    json["coverage"] = coverage(page);
    json["screens"] = screens(page);
    json["unusable"] = unusable(page);
    json["clips"] = clips(page);
    json["kept_flags"] = kept_flags(page);
    json["sites"] = site_table(page);
    return json;
}

void replace_all(std::string& text, std::string_view what, std::string_view with) {
    for (std::size_t at = text.find(what); at != std::string::npos;
         at = text.find(what, at + with.size()))
        text.replace(at, what.size(), with);
}

}  // namespace

std::string page_data_json(const Page& page) {
    const Survey& survey = page.survey;
    Json json;
    json["survey"] = {
        {"title", survey.title},          {"a", survey.stands.class_a},
        {"b", survey.stands.class_b},     {"factor", survey.stands.factor},
        {"block", survey.stands.block},   {"zone", survey.time_zone},
        {"level", survey.contrast.level}, {"listening_m", survey.stands.listening_distance_m}};
    json["primary"] = {{"index", page.index}, {"window", page.window}, {"declared", page.declared}};
    json["leftOut"] = left_out(page);
    json["decisions"] = decisions(page);
    json["pitch"] = pitch_json(page);
    json["robustness"] = robustness(page);
    json["effort"] = effort_json(page);
    json["totals"] = totals(page);
    json["hours_kept"] = hours_json(page);
    json["program"] = std::string("Hearwood ") + kVersion;
    json["dates"] = date_range(page);
    json["columns"] = columns(page);
    json["names"] = number_names(page);
    json["bands"] = named_bands(survey);
    json["sites"] = site_list(page);
    const SunMinutes sun = sun_minutes(page);
    json["sun"] = {{"sunrise", number(sun.rise)}, {"sunset", number(sun.set)}};
    json["windows"] = window_spans(page, sun);
    constexpr int kColours = 64;
    Json sequence = Json::array();
    for (int i = 0; i < kColours; ++i)
        sequence.push_back(hex(sequence_colour(i / (kColours - 1.0))));
    json["palette"] = {{"sequence", std::move(sequence)}};
    json["tables"] = tables(page);
    std::string text = json_text(json);
    replace_all(text, "<", "\\u003c");
    return text;
}

}  // namespace hearwood
