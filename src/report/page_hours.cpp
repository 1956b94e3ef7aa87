#include "report/page_hours.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "report/page.h"

namespace hearwood {

namespace {

using Json = nlohmann::ordered_json;

/// Below a hundredth of a minute the sums of coverage and of segments differ by rounding alone.
constexpr double kLeastMinutes = 0.01;

double hundredths(double minutes) {
    return std::round(100 * minutes) / 100;
}

std::string word_of(Reason reason) {
    if (reason == Reason::same_sound) return "same sound";
    if (reason == Reason::decision) return "left out";
    return name_of(reason);
}

/// One of several hours in a row that are alike.
Json run_of(const SiteHour& hour) {
    const std::string* most = nullptr;
    double largest = 0;
    for (const auto& [word, minutes] : hour.lost)
        if (minutes > largest) {
            largest = minutes;
            most = &word;
        }
    return {hundredths(hour.expected), hundredths(hour.present), hundredths(hour.usable),
            most ? Json(*most) : Json(nullptr)};
}

Json runs_of(int date, const std::map<int, SiteHour>& hours) {
    Json runs = Json::array();
    Json last;
    for (const auto& [hour, minutes] : hours) {
        Json now = run_of(minutes);
        if (!runs.empty() && runs.back()[2] == hour && last == now) {
            runs.back()[2] = hour + 1;
            continue;
        }
        Json run{date, hour, hour + 1};
        for (const Json& part : now) run.push_back(part);
        runs.push_back(std::move(run));
        last = std::move(now);
    }
    return runs;
}

}  // namespace

void LostGatherer::segment(const JudgedSegment& segment) {
    if (segment.judgement.kept()) return;
    for (int i = kReasonCount - 1; i >= 0; --i) {
        const auto reason = static_cast<Reason>(i);
        if (!segment.judgement.reasons.has(reason)) continue;
        if (reason == Reason::outside) return;  // nothing of it was due
        add_usable(lost_.try_emplace({segment.site, reason}, zone_).first->second,
                   segment.place.start, segment.duration_s(), segment.recording->row.channels);
        return;
    }
}

SiteHours site_hours(const Page& page) {
    SiteHours hours;
    for (const DeploymentCoverage& deployment : page.coverages)
        for (const HourCoverage& hour : deployment.hours) {
            const std::size_t site = page.survey.deployments[deployment.deployment].site;
            SiteHour& sum = hours[{site, hour.date}][hour.hour];
            sum.expected += hour.expected;
            sum.present += hour.present;
            sum.usable += hour.usable;
            if (hour.expected - hour.present >= kLeastMinutes)
                sum.lost["missing"] += hour.expected - hour.present;
        }
    for (const auto& [key, lost] : page.lost)
        for (const auto& [when, minutes] : lost.all()) {
            const auto found = hours.find({key.first, when.first});
            if (found == hours.end()) continue;
            const auto hour = found->second.find(when.second);
            if (hour != found->second.end()) hour->second.lost[word_of(key.second)] += minutes;
        }
    for (auto& [key, day] : hours)
        for (auto& [number, hour] : day) {
            double told = 0;
            for (const auto& [word, minutes] : hour.lost)
                if (word != "missing") told += minutes;
            const double rest = hour.present - hour.usable - told;
            if (rest >= kLeastMinutes) hour.lost["unread"] += rest;
        }
    return hours;
}

Json hours_json(const Page& page) {
    const SiteHours hours = site_hours(page);
    std::set<Date> seen;
    for (const auto& [key, day] : hours) seen.insert(key.second);
    Json dates = Json::array();
    std::map<Date, int> number;
    // Every date between the first and the last: one without a recording is a gap, not a cut.
    if (!seen.empty())
        for (Date date = *seen.begin(); date <= *seen.rbegin(); date += std::chrono::days(1)) {
            number[date] = static_cast<int>(dates.size());
            dates.push_back(format_date(date));
        }
    std::map<std::string, double> lost;
    std::map<std::size_t, std::map<std::string, double>> lost_at;
    std::map<std::size_t, Json> runs;
    for (const auto& [key, day] : hours) {
        Json& own = runs.try_emplace(key.first, Json::array()).first->second;
        for (Json& run : runs_of(number[key.second], day)) own.push_back(std::move(run));
        for (const auto& [hour, minutes] : day)
            for (const auto& [word, sum] : minutes.lost) {
                lost[word] += sum / 60;
                lost_at[key.first][word] += sum / 60;
            }
    }
    Json json{{"dates", std::move(dates)}, {"lost_h", lost}, {"sites", Json::array()}};
    for (auto& [site, own] : runs)
        json["sites"].push_back({{"name", page.survey.sites[site].name},
                                 {"lost_h", lost_at[site]},
                                 {"runs", std::move(own)}});
    return json;
}

}  // namespace hearwood
