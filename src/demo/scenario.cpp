#include "demo/scenario.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "demo/random.h"
#include "survey/sun.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

using namespace std::chrono_literals;

constexpr auto kFirstDate = std::chrono::local_days{std::chrono::year{2026} / 4 / 18};
constexpr int kDates = 2;
constexpr std::size_t kCardPulledEarly = 2;  // an alluvial site at the first river

struct River {
    const char* name;
    double latitude, longitude;
    double liveliness;  // rivers differ, which is why they are the block
    double noise_dbfs;
};
constexpr River kRivers[] = {
    {"Amerak", 1.7421, 113.1180, 1.25, -64},
    {"Belindu", 1.9058, 113.4733, 1.00, -66},
    {"Cerawai", 2.0836, 113.7924, 0.80, -65},
};

DemoSite make_site(const River& river, bool rich, int number, DemoRandom& random) {
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
    site.elevation_m = static_cast<int>(rich ? random.uniform(28, 52) : random.uniform(36, 64));
    site.root_mat_cm = rich ? random.uniform(0, 4) : random.uniform(12, 30);
    site.organic_depth_cm = rich ? random.uniform(2, 6) : random.uniform(15, 40);
    site.canopy_height_m = rich ? random.uniform(36, 48) : random.uniform(12, 22);
    site.mineral_texture = rich ? "silty clay loam" : "white sand";
    site.liveliness = river.liveliness * (rich ? 2.4 : 1.0) * random.uniform(0.85, 1.15);
    site.noise_dbfs = river.noise_dbfs + random.uniform(-1.0, 1.0);
    return site;
}

/// A bell around an hour of the day, 1 at its top.
double bell(double hour, double centre, double width) {
    double away = std::abs(hour - centre);
    away = std::min(away, 24 - away);
    return std::exp(-0.5 * away * away / (width * width));
}

void fill_activity(DemoFile& file, const DemoSite& site, double hour, double sunrise, double sunset,
                   DemoRandom& random) {
    const bool rich = site.stand == "rich";
    const double day = bell(hour, (sunrise + sunset) / 2, 4.5);
    const double dawn = bell(hour, sunrise + 0.15, 0.6);
    const double dusk = bell(hour, sunset + 0.3, 0.7);
    const bool dark = hour < sunrise - 0.5 || hour > sunset + 0.4;
    const double mood = random.uniform(0.85, 1.15);
    file.bird_phrases_per_minute =
        dark ? 0 : site.liveliness * mood * (26 * dawn + 5 * day + 4 * dusk);
    if (dark && dawn > 0.05) file.bird_phrases_per_minute = site.liveliness * mood * 26 * dawn;
    file.frog_calls_per_minute = site.liveliness * mood * (18 * dusk + (dark ? 4 : 0));
    file.bird_kinds = rich ? 10 : 5;
    file.insect_kinds = dark ? (rich ? 5 : 2) : (rich ? 2 : 1);
    file.insect_level_dbfs =
        (dark ? -52.0 : -62.0) + (rich ? 3 : 0) + 2 * std::log10(site.liveliness);
}

std::string file_name(const DemoSite& site, LocalTime recorder_start) {
    std::string digits;
    for (const char c : format_local(recorder_start))
        if (c >= '0' && c <= '9') digits += c;
    return fmt::format("{}_{}_{}.{}", site.name, digits.substr(0, 8), digits.substr(8, 6),
                       site.writes_wav ? "wav" : "flac");
}

/// Minutes of an hour at which recorders start: on the hour, every 20 minutes from 03:00 to 08:59,
/// and every 15 minutes from 05:00 to 06:59, so that there is a night level before dawn and no gap
/// around the onset of the dawn chorus.
std::vector<int> start_minutes(int hour) {
    if (hour == 5 || hour == 6) return {0, 15, 30, 45};
    if (hour >= 3 && hour < 9) return {0, 20, 40};
    return {0};
}

void add_events(DemoFile& file, const DemoSite& site, int date, int hour) {
    file.shower = site.river == "Belindu" && date == 1 && (hour == 15 || hour == 16);
    file.gusts = site.river == "Cerawai" && date == 0 && hour >= 12 && hour < 15;
    file.boat = site.river == "Amerak" && date == 0 && hour == 10;
    file.dead = site.microphone_dies && date > 0;
}

}  // namespace

DemoScenario make_scenario(std::uint64_t seed) {
    DemoRandom random(seed);
    DemoScenario scenario;
    for (const River& river : kRivers)
        for (const bool rich : {false, true})
            for (const int number : {1, 2})
                scenario.sites.push_back(make_site(river, rich, number, random));
    scenario.sites[1].clock_late_s = 420;      // a heath site at the first river
    scenario.sites[5].microphone_dies = true;  // a heath site at the second
    scenario.sites[kCardPulledEarly].writes_wav = true;
    scenario.sites[8].writes_wav = true;

    const Zone zone = Zone::named(kDemoZone);
    for (std::size_t s = 0; s < scenario.sites.size(); ++s) {
        const DemoSite& site = scenario.sites[s];
        for (int date = 0; date < kDates; ++date) {
            const auto midnight = kFirstDate + std::chrono::days(date);
            const SunTimes sun = sun_times(midnight, site.latitude, site.longitude, zone);
            const auto hours = [&](Instant instant) {
                const auto since = zone.to_local(instant).time - LocalTime(midnight);
                return std::chrono::duration<double, std::ratio<3600>>(since).count();
            };
            for (int hour = 0; hour < 24; ++hour)
                for (const int minute : start_minutes(hour)) {
                    DemoFile file;
                    file.site = s;
                    const LocalTime recorder_start =
                        midnight + std::chrono::hours(hour) + std::chrono::minutes(minute);
                    file.true_start = recorder_start + std::chrono::seconds(site.clock_late_s);
                    file.name = file_name(site, recorder_start);
                    file.seed = random.bits();
                    add_events(file, site, date, hour);
                    fill_activity(file, site, hour + (minute + site.clock_late_s / 60.0) / 60,
                                  hours(*sun.sunrise), hours(*sun.sunset), random);
                    scenario.files.push_back(std::move(file));
                }
        }
    }
    // Pulling the card cut the last file of one recorder short.
    const auto last =
        std::find_if(scenario.files.rbegin(), scenario.files.rend(),
                     [](const DemoFile& file) { return file.site == kCardPulledEarly; });
    last->truncated = true;
    return scenario;
}

}  // namespace hearwood
