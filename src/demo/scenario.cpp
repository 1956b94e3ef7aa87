#include "demo/scenario.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "demo/random.h"
#include "survey/sun.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

using namespace std::chrono_literals;

constexpr auto kFirstDate = std::chrono::local_days{std::chrono::year{2026} / 4 / 18};

// Sites by their place in the scenario: at each river two heath sites, then two alluvial ones.
constexpr std::size_t kLateClock = 1, kCardPulledEarly = 2, kDeadMicrophone = 5, kStream = 7,
                      kMissesDawns = 8;

struct River {
    const char* name;
    double latitude, longitude;
    double liveliness;  // rivers differ, which is why they are the block
};
constexpr River kRivers[] = {
    {"Amerak", 1.7421, 113.1180, 1.15},
    {"Belindu", 1.9058, 113.4733, 1.00},
    {"Cerawai", 2.0836, 113.7924, 0.88},
};

/// Call rates: rich over poor sites, and how sites of a class and single nights scatter about it,
/// as standard deviations of the logarithm. Chosen so that the classes overlap as real ones do.
constexpr double kRichOverPoor = 2.0, kSiteScatter = 0.50, kNightScatter = 0.20;

/// Expected values of six ordered draws from a normal distribution: sites of a class scatter by as
/// much whatever the seed, only who stands where is drawn.
constexpr std::array<double, 6> kNormalScores{-1.267, -0.642, -0.202, 0.202, 0.642, 1.267};

std::array<double, 6> shuffled_scores(DemoRandom& random) {
    std::array<double, 6> scores = kNormalScores;
    for (int i = 5; i > 0; --i)
        std::swap(scores[static_cast<std::size_t>(i)],
                  scores[static_cast<std::size_t>(random.below(i + 1))]);
    return scores;
}

DemoSite make_site(const River& river, bool rich, int number, double score, DemoRandom& random) {
    DemoSite site;
    site.river = river.name;
    site.stand = rich ? "rich" : "poor";
    site.name =
        fmt::format("{}-{}-{}", to_lower_ascii(river.name), rich ? "alluvial" : "heath", number);
    // Along the river every 1.2 km or so, 1.5 km on the trail that winds beside it, heath and
    // alluvium in turn.
    const int place = 2 * (number - 1) + (rich ? 1 : 0);
    site.trail_m = 400 + 1500 * place + random.below(200);
    site.latitude = river.latitude + 0.0088 * place + random.uniform(-0.0006, 0.0006);
    site.longitude = river.longitude + 0.0064 * place + random.uniform(-0.0006, 0.0006);
    // White sand lies on terraces, alluvium below them: elevation goes along with the stand.
    site.elevation_m = static_cast<int>(rich ? random.uniform(26, 58) : random.uniform(36, 68));
    site.root_mat_cm = rich ? random.uniform(0, 4) : random.uniform(12, 30);
    site.organic_depth_cm = rich ? random.uniform(2, 6) : random.uniform(15, 40);
    site.canopy_height_m = rich ? random.uniform(36, 48) : random.uniform(12, 22);
    site.mineral_texture = rich ? "silty clay loam" : "white sand";
    site.liveliness =
        river.liveliness * (rich ? kRichOverPoor : 1.0) * std::exp(kSiteScatter * score);
    site.noise_dbfs = -82.5 + random.uniform(-0.7, 0.7);
    site.loss_db_per_100m = (rich ? 8.5 : 6) + random.uniform(-1.0, 1.0);
    return site;
}

std::vector<DemoSite> make_sites(DemoRandom& random) {
    const std::array<std::array<double, 6>, 2> scores{shuffled_scores(random),
                                                      shuffled_scores(random)};
    std::vector<DemoSite> sites;
    std::array<std::size_t, 2> next{};
    for (const River& river : kRivers)
        for (const bool rich : {false, true})
            for (const int number : {1, 2})
                sites.push_back(make_site(river, rich, number, scores[rich][next[rich]++], random));
    for (std::size_t s = 0; s < sites.size(); ++s) {
        const bool rich = sites[s].stand == "rich";
        sites[s].choirs = {kNightChoir, kDuskChoir};
        if (s % 2 == (rich ? 0 : 1)) sites[s].choirs.push_back(kDayChoir);
    }
    sites[kLateClock].clock_late_s = 420;
    sites[kDeadMicrophone].microphone_dies = true;
    sites[kStream].stream_dbfs = -75;
    sites[kMissesDawns].misses_dawns = true;
    return sites;
}

/// A bell around an hour of the day, 1 at its top.
double bell(double hour, double centre, double width) {
    double away = std::abs(hour - centre);
    away = std::min(away, 24 - away);
    return std::exp(-0.5 * away * away / (width * width));
}

/// Hours of the local clock.
struct Sun {
    double rise, set;
};

void fill_activity(DemoFile& file, const DemoSite& site, double hour, Sun sun, double mood) {
    const double day = bell(hour, (sun.rise + sun.set) / 2, 4.5);
    const double dawn = bell(hour, sun.rise + 0.15, 0.6);
    const double dusk = bell(hour, sun.set + 0.3, 0.7);
    const bool dark = hour < sun.rise - 0.5 || hour > sun.set + 0.4;
    const double lively = site.liveliness * mood;
    file.bird_phrases_per_minute = lively * (9 * dawn + (dark ? 0 : 3 * day + 2 * dusk));
    file.frog_calls_per_minute = lively * (16 * dusk + (dark ? 4 : 0));
    const bool night = hour < sun.rise - 1.2 || hour > sun.set + 0.4;
    for (const int kind : site.choirs)
        if (kind == kNightChoir  ? night
            : kind == kDuskChoir ? std::abs(hour - sun.set - 0.15) < 0.4
                                 : hour > sun.rise + 0.2 && hour < sun.set - 0.5)
            file.choirs.push_back(kind);
}

std::string file_name(const DemoSite& site, LocalTime recorder_start) {
    std::string digits;
    for (const char c : format_local(recorder_start))
        if (c >= '0' && c <= '9') digits += c;
    return fmt::format("{}_{}_{}.flac", site.name, digits.substr(0, 8), digits.substr(8, 6));
}

/// Minutes between recordings: five around dawn, so that there is no gap about the onset of the
/// chorus, twenty before and after, so that there is a night level, thirty else.
int step_minutes(int minute) {
    if (minute >= 5 * 60 && minute < 7 * 60 + 30) return 5;
    return minute >= 3 * 60 && minute < 9 * 60 ? 20 : 30;
}

void add_events(DemoFile& file, const DemoSite& site, int date, int hour) {
    file.shower = site.river == "Belindu" && date % 5 == 1 && (hour == 15 || hour == 16);
    file.gusts = site.river == "Cerawai" && date == 3 && hour >= 12 && hour < 15;
    file.boat = site.river == "Amerak" && date == 2 && hour == 10;
    file.dead = site.microphone_dies && date >= kDemoDates - 2;
}

bool missed(const DemoSite& site, int date, int minute) {
    return site.misses_dawns && date % 2 == 1 && minute >= 4 * 60 && minute < 8 * 60 + 30;
}

Sun sun_of(const DemoSite& site, std::chrono::local_days midnight, const Zone& zone) {
    const SunTimes sun = sun_times(midnight, site.latitude, site.longitude, zone);
    const auto hours = [&](Instant instant) {
        const auto since = zone.to_local(instant).time - LocalTime(midnight);
        return std::chrono::duration<double, std::ratio<3600>>(since).count();
    };
    return {hours(*sun.sunrise), hours(*sun.sunset)};
}

/// The files of one site and date.
void add_date(DemoScenario& scenario, std::size_t s, int date, double weather, const Zone& zone,
              DemoRandom& random) {
    const DemoSite& site = scenario.sites[s];
    const auto midnight = kFirstDate + std::chrono::days(date);
    const Sun sun = sun_of(site, midnight, zone);
    const double night = weather * std::exp(kNightScatter * random.gaussian());
    for (int minute = 0; minute < 24 * 60; minute += step_minutes(minute)) {
        if (missed(site, date, minute)) continue;
        DemoFile file;
        file.site = s;
        const LocalTime recorder_start = midnight + std::chrono::minutes(minute);
        file.true_start = recorder_start + std::chrono::seconds(site.clock_late_s);
        file.name = file_name(site, recorder_start);
        file.seed = random.bits();
        add_events(file, site, date, minute / 60);
        fill_activity(file, site, (minute + site.clock_late_s / 60.0) / 60, sun,
                      night * random.uniform(0.85, 1.15));
        scenario.files.push_back(std::move(file));
    }
}

/// When the recorders were put out, the day before the first date: at the sites of a river one
/// after another, the trial's sound from 2 m and two minutes later from 30.
void add_trials(DemoScenario& scenario, DemoRandom random) {
    for (std::size_t s = 0; s < scenario.sites.size(); ++s)
        for (const int metres : {2, 30}) {
            DemoFile file;
            file.site = s;
            file.trial_m = metres;
            file.true_start = kFirstDate - 24h + 14h + s % 4 * 40min + (metres > 2 ? 2min : 0min);
            file.name =
                file_name(scenario.sites[s],
                          file.true_start - std::chrono::seconds(scenario.sites[s].clock_late_s));
            file.seed = random.bits();
            scenario.files.push_back(std::move(file));
        }
}

}  // namespace

double stand_loss_db(const DemoSite& site, double distance_m, double hz) {
    return site.loss_db_per_100m * distance_m / 100 * std::sqrt(hz / 4000);
}

DemoScenario make_scenario(std::uint64_t seed) {
    DemoRandom random(seed);
    DemoScenario scenario;
    scenario.sites = make_sites(random);
    std::array<double, kDemoDates> weather;
    for (double& date : weather) date = std::exp(kNightScatter * random.gaussian());

    const Zone zone = Zone::named(kDemoZone);
    for (std::size_t s = 0; s < scenario.sites.size(); ++s)
        for (int date = 0; date < kDemoDates; ++date)
            add_date(scenario, s, date, weather[static_cast<std::size_t>(date)], zone, random);
    // Pulling the card cut the last file of one recorder short.
    const auto last =
        std::find_if(scenario.files.rbegin(), scenario.files.rend(),
                     [](const DemoFile& file) { return file.site == kCardPulledEarly; });
    last->truncated = true;
    add_trials(scenario, DemoRandom(seed ^ 0x7121A1));
    return scenario;
}

}  // namespace hearwood
