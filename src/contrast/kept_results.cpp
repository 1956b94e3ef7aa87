#include "contrast/kept_results.h"

#include <fmt/core.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/missing.h"
#include "base/sha256.h"
#include "base/text.h"
#include "measure/measure.h"
#include "store/json.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using Json = nlohmann::json;  // keys are always sorted

/// Raised when what is kept, or how it is computed, changes.
constexpr int kVersion = 1;

// --- What a result was made under

Json optional_number(const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json sites_json(const Survey& survey) {
    Json sites = Json::array();
    for (const Site& site : survey.sites)
        sites.push_back({site.name, site.stand, site.block, site.latitude, site.longitude});
    return sites;
}

/// What decides when a segment was, and to which site and recorder it belongs.
Json deployments_json(const Survey& survey) {
    Json list = Json::array();
    for (const Deployment& d : survey.deployments) {
        const auto wall = [](const std::optional<LocalTime>& t) {
            return t ? Json(t->time_since_epoch().count()) : Json(nullptr);
        };
        list.push_back({d.name, survey.sites[d.site].name, d.recorder, wall(d.start), wall(d.end),
                        d.clock, optional_number(d.clock_error_start_s),
                        optional_number(d.clock_error_end_s),
                        optional_number(d.full_scale_db_spl)});
    }
    return list;
}

/// What was decided about the data, without who said so and why.
Json decisions_json(const Survey& survey) {
    Json list = Json::array();
    for (const Decision& d : survey.decisions)
        list.push_back({name_of(d.kind), d.subject, d.from, d.to, d.value});
    return list;
}

Json windows_json(const Survey& survey) {
    Json windows = Json::array();
    const auto edge = [](const WindowEdge& e) {
        return Json{static_cast<int>(e.anchor), e.minutes};
    };
    for (const Window& window : survey.windows)
        windows.push_back({window.name, edge(window.from), edge(window.to)});
    return windows;
}

Json plan_json(const std::string& name, const Survey& survey) {
    Json json{{"result", name},
              {"version", kVersion},
              {"measuring", measuring_settings(survey.measure).hash},
              {"names", survey.start_time_pattern},
              {"zone", survey.time_zone},
              {"screen", section_json(survey, "screen")},
              {"compare", {survey.stands.class_a, survey.stands.class_b}},
              {"sites", sites_json(survey)},
              {"deployments", deployments_json(survey)},
              {"decisions", decisions_json(survey)},
              {"seed", survey.contrast.seed},
              {"level", survey.contrast.level}};
    for (const auto& [section, rule] : {std::pair{"taught_rain", &survey.screen.taught_rain},
                                        std::pair{"taught_engine", &survey.screen.taught_engine},
                                        std::pair{"taught_wind", &survey.screen.taught_wind}})
        if (rule->given()) json[section] = section_json(survey, section);
    if (name == kRobustness) {
        json["primary"] = {survey.contrast.primary_index, survey.contrast.primary_window};
        json["windows"] = windows_json(survey);
    }
    return json;
}

// --- What it was made from

/// Numbers as bytes; every missing one alike.
class Digest {
  public:
    void text(const std::string& value) {
        number(static_cast<double>(value.size()));
        sum_.add(value.data(), value.size());
    }
    void number(double value) {
        if (is_missing(value)) value = kMissing;
        sum_.add(&value, sizeof value);
    }
    void rows(const std::vector<DateMean>& rows) {
        number(static_cast<double>(rows.size()));
        for (const DateMean& row : rows) {
            const double place[] = {static_cast<double>(row.site),
                                    static_cast<double>(row.date.time_since_epoch().count()),
                                    static_cast<double>(row.part), static_cast<double>(row.kept),
                                    static_cast<double>(row.possible)};
            for (const double part : place) number(part);
            for (const double value : row.values) number(value);
        }
    }
    std::string finish() { return sum_.finish(); }

  private:
    Sha256 sum_;
};

// --- Typed results as JSON and back

/// The numbers of a contrast by name, for both directions.
constexpr std::pair<const char*, double ContrastRow::*> kNumbers[] = {
    {"mean_a", &ContrastRow::mean_a},
    {"mean_b", &ContrastRow::mean_b},
    {"difference", &ContrastRow::difference},
    {"ci_low", &ContrastRow::ci_low},
    {"ci_high", &ContrastRow::ci_high},
    {"hedges_g", &ContrastRow::hedges_g},
    {"cliffs_delta", &ContrastRow::cliffs_delta},
    {"p", &ContrastRow::p},
    {"p_min", &ContrastRow::p_min},
    {"p_adjusted", &ContrastRow::p_adjusted},
    {"p_unequal", &ContrastRow::p_unequal},
    {"spread_ratio", &ContrastRow::spread_ratio},
    {"level", &ContrastRow::level}};
constexpr std::pair<const char*, std::string ContrastRow::*> kTexts[] = {
    {"index", &ContrastRow::index},           {"window", &ContrastRow::window},
    {"class_a", &ContrastRow::class_a},       {"class_b", &ContrastRow::class_b},
    {"confounder", &ContrastRow::confounder}, {"verdict", &ContrastRow::verdict}};

Json contrast_json(const ContrastRow& row) {
    Json json{{"n_a", row.n_a},
              {"n_b", row.n_b},
              {"permutations", row.permutations},
              {"primary", row.role == Role::primary},
              {"family", row.family},
              {"exact", row.exact},
              {"has_blocks", row.has_blocks},
              {"unequal_counts", row.unequal_counts},
              {"dropped_blocks", row.dropped_blocks},
              {"missing_sites", row.missing_sites}};
    for (const auto& [name, member] : kNumbers) json[name] = json_number(row.*member);
    for (const auto& [name, member] : kTexts) json[name] = row.*member;
    return json;
}

ContrastRow contrast_of(const Json& json) {
    ContrastRow row;
    row.n_a = json.at("n_a");
    row.n_b = json.at("n_b");
    row.permutations = json.at("permutations");
    row.role = json.at("primary").get<bool>() ? Role::primary : Role::secondary;
    row.family = json.at("family");
    row.exact = json.at("exact");
    row.has_blocks = json.at("has_blocks");
    row.unequal_counts = json.at("unequal_counts");
    json.at("dropped_blocks").get_to(row.dropped_blocks);
    json.at("missing_sites").get_to(row.missing_sites);
    for (const auto& [name, member] : kNumbers) row.*member = number_in(json.at(name));
    for (const auto& [name, member] : kTexts) json.at(name).get_to(row.*member);
    return row;
}

Json setting_json(const SettingRow& row) {
    return {{"levels", row.levels},
            {"result", contrast_json(row.result)},
            {"same_sign", row.same_sign},
            {"same_significance", row.same_significance}};
}

SettingRow setting_of(const Json& json) {
    return {json.at("levels"), contrast_of(json.at("result")), json.at("same_sign"),
            json.at("same_significance")};
}

Robustness robustness_of(const Json& json) {
    Robustness result{json.at("index"), json.at("window"), {}, {}, {}};
    for (const Json& factor : json.at("factors"))
        result.factors.push_back({factor.at("name"), factor.at("levels")});
    for (const Json& row : json.at("grid")) result.grid.push_back(setting_of(row));
    for (const Json& row : json.at("without"))
        result.without.push_back({row.at("site"), setting_of(row.at("row")), row.at("decision")});
    return result;
}

Json list_json(std::initializer_list<double> numbers) {
    Json list = Json::array();
    for (const double number : numbers) list.push_back(json_number(number));
    return list;
}

ListeningScore listening_of(const Json& json) {
    ListeningScore score;
    score.clips = json.at("clips");
    score.sites = json.at("sites");
    score.listeners = json.at("listeners");
    score.unanswered = json.at("unanswered");
    json.at("lost").get_to(score.lost);
    for (const Json& r : json.at("agreement"))
        score.agreement.push_back({r.at("who"), r.at("question"), r.at("measure"), r.at("clips"),
                                   number_in(r.at("same")), number_in(r.at("kappa"))});
    for (const Json& r : json.at("follows"))
        score.follows.push_back({r.at("index"), r.at("heard"), number_in(r.at("rho")),
                                 number_in(r.at("low")), number_in(r.at("high")), r.at("clips"),
                                 r.at("sites"), r.at("listeners"), r.at("verdict")});
    for (const Json& r : json.at("screens")) {
        const auto number = [&](std::size_t i) { return number_in(r.at("numbers").at(i)); };
        score.screens.push_back({r.at("reason"), number(0), number(1), number(2), number(3),
                                 number(4), number(5), number(6), number(7), number(8),
                                 r.at("clips")});
    }
    for (const Json& row : json.at("contrasts")) score.contrasts.push_back(contrast_of(row));
    return score;
}

}  // namespace

std::string fingerprint_of(const std::string& name, const Survey& survey,
                           const SiteValues& values) {
    Digest digest;
    digest.text(json_text(plan_json(name, survey)));
    for (const Column& column : values.columns) digest.text(column.name);
    digest.rows(values.site_hours);
    if (name == kRobustness) digest.rows(values.site_windows);
    for (const FlaggedShare& share : values.flagged) {
        digest.text(share.reason);
        for (const double part :
             {static_cast<double>(share.site), static_cast<double>(share.flagged),
              static_cast<double>(share.segments)})
            digest.number(part);
    }
    return digest.finish();
}

std::string robustness_json(const Robustness& robustness) {
    Json json{{"index", robustness.index},
              {"window", robustness.window},
              {"factors", Json::array()},
              {"grid", Json::array()},
              {"without", Json::array()}};
    for (const Factor& factor : robustness.factors)
        json["factors"].push_back({{"name", factor.name}, {"levels", factor.levels}});
    for (const SettingRow& row : robustness.grid) json["grid"].push_back(setting_json(row));
    for (const WithoutSite& without : robustness.without)
        json["without"].push_back({{"site", without.site},
                                   {"row", setting_json(without.row)},
                                   {"decision", without.decision}});
    return json_text(json);
}

std::string listening_json(const ListeningScore& score) {
    Json json{{"clips", score.clips},         {"sites", score.sites},
              {"listeners", score.listeners}, {"unanswered", score.unanswered},
              {"lost", score.lost},           {"agreement", Json::array()},
              {"follows", Json::array()},     {"screens", Json::array()},
              {"contrasts", Json::array()}};
    for (const AgreementRow& r : score.agreement)
        json["agreement"].push_back({{"who", r.who},
                                     {"question", r.question},
                                     {"measure", r.measure},
                                     {"clips", r.clips},
                                     {"same", json_number(r.same)},
                                     {"kappa", json_number(r.kappa)}});
    for (const ListeningResult& r : score.follows)
        json["follows"].push_back({{"index", r.index},
                                   {"heard", r.heard},
                                   {"rho", json_number(r.rho)},
                                   {"low", json_number(r.low)},
                                   {"high", json_number(r.high)},
                                   {"clips", r.clips},
                                   {"sites", r.sites},
                                   {"listeners", r.listeners},
                                   {"verdict", r.verdict}});
    for (const ScreenRow& r : score.screens)
        json["screens"].push_back(
            {{"reason", r.reason},
             {"clips", r.clips},
             {"numbers", list_json({r.flagged, r.heard, r.both, r.precision, r.precision_low,
                                    r.precision_high, r.recall, r.recall_low, r.recall_high})}});
    for (const ContrastRow& row : score.contrasts) json["contrasts"].push_back(contrast_json(row));
    return json_text(json);
}

bool KeptResults::is_old(const std::string& name) const {
    return std::find(old.begin(), old.end(), name) != old.end();
}

std::vector<ListeningResult> KeptResults::heard() const {
    return listening ? listening->follows : std::vector<ListeningResult>();
}

KeptResults read_kept_results(const Survey& survey, const SiteValues* values, const Store& store) {
    KeptResults kept;
    for (const char* name : {kListening, kRobustness}) {
        const std::optional<KeptResult> result = store.kept_result(name);
        if (!result) continue;
        if (!values || result->fingerprint != fingerprint_of(name, survey, *values)) {
            kept.old.emplace_back(name);
            continue;
        }
        try {
            const Json json = read_json(result->json);
            if (name == std::string(kRobustness))
                kept.robustness = robustness_of(json);
            else
                kept.listening = listening_of(json);
        } catch (const Json::exception&) {
            kept.old.emplace_back(name);  // of another version of the program, or damaged
        }
    }
    return kept;
}

std::vector<Finding> told_as_old(const KeptResults& kept) {
    std::vector<Finding> findings;
    for (const std::string& name : kept.old)
        findings.push_back(
            {Severity::doubt,
             FindingCode::old_result,
             {},
             fmt::format("The results of {} are old: they were made under another plan or from "
                         "other values, and are not shown.",
                         name == kListening ? "the listening check" : name),
             fmt::format("Run hearwood {} to make them anew.",
                         name == kListening ? "listen --rescore" : name)});
    return findings;
}

}  // namespace hearwood
