#include "aggregate/site_values.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <optional>
#include <span>
#include <tuple>

#include "aggregate/card_evidence.h"
#include "aggregate/site_averager.h"
#include "base/missing.h"
#include "base/text.h"

namespace hearwood {

int SiteValues::column(const std::string& name) const {
    const auto found = std::find_if(columns.begin(), columns.end(),
                                    [&](const Column& c) { return c.name == name; });
    return found == columns.end() ? -1 : static_cast<int>(found - columns.begin());
}

SiteValues compute_site_values(const Survey& survey, const Store& store) {
    return compute_site_values(survey, store, JudgedSegments(survey, store));
}

SiteValues compute_site_values(const Survey& survey, const Store& store,
                               const JudgedSegments& segments) {
    DerivedValues derived(survey, store, segments);
    SiteAverager averager(survey, derived, segments);
    SegmentVisitor* const visitors[] = {&derived, &averager};
    segments.visit(visitors);
    SiteValues values = averager.finish(segments);
    values.evidence = card_evidence(survey, store);
    return values;
}

double site_value(const std::vector<SiteMean>& means, std::size_t site, int part, int column) {
    const auto wanted = std::tuple(site, part);
    const auto found = std::lower_bound(means.begin(), means.end(), wanted,
                                        [](const SiteMean& mean, const auto& key) {
                                            return std::tuple(mean.site, mean.part) < key;
                                        });
    if (column < 0 || found == means.end() || found->site != site || found->part != part)
        return kMissing;
    return found->values[static_cast<std::size_t>(column)];
}

int lowest_rate_of(const SiteValues& values) {
    double lowest = 0;
    for (const std::vector<double>& rates : values.sample_rates)
        if (!rates.empty() && (lowest == 0 || rates.front() < lowest)) lowest = rates.front();
    return static_cast<int>(lowest);
}

std::vector<Finding> mixed_sample_rates(const Survey& survey, const SiteValues& values) {
    std::map<double, std::vector<std::string>> sites_of;
    for (std::size_t i = 0; i < survey.sites.size(); ++i) {
        const Site& site = survey.sites[i];
        if (site.stand != survey.stands.class_a && site.stand != survey.stands.class_b) continue;
        for (const double rate : values.sample_rates[i]) sites_of[rate].push_back(site.name);
    }
    if (sites_of.size() < 2) return {};
    std::vector<std::string> parts;
    parts.reserve(sites_of.size());
    for (const auto& [rate, sites] : sites_of)
        parts.push_back(fmt::format("{} Hz at {}", format_number(rate), join(sites, ", ")));
    return {{Severity::serious,
             FindingCode::sample_rate,
             {},
             "The sites compared were recorded at different sample rates (" + join(parts, "; ") +
                 "): frames of " + std::to_string(survey.measure.frame) +
                 " samples then differ in length and in hertz, so that the indices are other "
                 "quantities.",
             fmt::format("Write a row of decisions.csv for each deployment of a higher rate "
                         "(sample_rate, value {}) and measure again, or leave its site out.",
                         format_number(sites_of.begin()->first))}};
}

namespace {

/// Sites where the weather is unknown on most segments, as one finding; nothing when there are
/// none.
std::optional<Finding> unknown_weather(const Survey& survey, const SiteValues& values) {
    std::vector<std::string> sites;
    std::int64_t unknown = 0, segments = 0;
    for (const WeatherUnknown& of_site : values.weather_unknown) {
        if (2 * of_site.unknown <= of_site.segments) continue;
        sites.push_back(survey.sites[of_site.site].name);
        unknown += of_site.unknown;
        segments += of_site.segments;
    }
    if (sites.empty()) return std::nullopt;
    constexpr std::size_t kNamed = 4;
    std::string names = join(std::span(sites).first(std::min(sites.size(), kNamed)), ", ");
    if (sites.size() > kNamed) names += fmt::format(" and {} more", sites.size() - kNamed);
    return Finding{
        Severity::doubt, FindingCode::weather_unknown, Subject::site(names),
        fmt::format("Rain and engines could not be looked for in {} of {} of {}, so that rainy "
                    "ones may be among those kept.",
                    grouped(unknown), counted(segments, "segment"),
                    sites.size() == 1 ? "this site" : "these sites"),
        "They need a sample rate of 16 kHz or more, a hop of 0.1 s at most and segments of 5 s or "
        "more; else go by your own notes of the weather, and leave out the wet dates."};
}

}  // namespace

std::vector<Finding> questions_of_screens(const Survey& survey, const SiteValues& values) {
    std::vector<Finding> questions;
    for (const FlaggedShare& share : values.flagged) {
        if (!share.question) continue;
        questions.push_back(
            {Severity::doubt, FindingCode::always_sounds,
             Subject::site(survey.sites[share.site].name),
             fmt::format("'{}' fired on {} of the {} segments of this site: is it something that "
                         "always sounds there (rapids, a road)? It was left a flag and excluded "
                         "nothing here.",
                         share.reason, grouped(share.flagged), grouped(share.segments)),
             fmt::format("Listen to a few of them; if they really are {0}, set often_share = 1 "
                         "under [screen] to exclude them.",
                         share.reason)});
    }
    if (std::optional<Finding> finding = unknown_weather(survey, values))
        questions.push_back(std::move(*finding));
    return questions;
}

}  // namespace hearwood
