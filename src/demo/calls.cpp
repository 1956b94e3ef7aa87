#include "demo/calls.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo/noise.h"
#include "demo/random.h"

namespace hearwood {
namespace {

constexpr int kBirdKinds = 14;
/// One more kind sings in rich stands alone, this share of all phrases there.
constexpr int kRichKind = kBirdKinds;
constexpr double kRichKindShare = 0.15, kRichKindPitch_hz = 2900;
/// Animals sit anywhere within earshot, as many to a hectare near as far.
constexpr double kNearest_m = 30, kFarthest_m = 280;
/// Of a call at 10 m.
constexpr double kBirdLevel_dbfs = -31, kFrogLevel_dbfs = -42;
constexpr double kFirstPitch_hz = 800, kLastPitch_hz = 10500;  // of sound events

/// Spreading over the distance, and what the stand takes off, more of high notes.
double level_at(const DemoSite& site, double at_10m_dbfs, double distance_m, double hz) {
    return at_10m_dbfs - 20 * std::log10(distance_m / 10) - stand_loss_db(site, distance_m, hz);
}

double draw_distance(DemoRandom& random) {
    return std::max(kNearest_m, kFarthest_m * std::sqrt(random.uniform()));
}

/// A number of calls of that mean, as far apart as chance has it (Knuth's product of uniforms).
int poisson(double mean, DemoRandom& random) {
    const double least = std::exp(-mean);
    int count = 0;
    for (double product = random.uniform(); product > least; product *= random.uniform()) ++count;
    return count;
}

/// A kind of bird is a pattern of notes; the same number always gives the same song.
void add_phrase(std::vector<DemoCall>& calls, const DemoSite& site, int kind, DemoRandom& random) {
    DemoRandom song(0xB1D0 + static_cast<std::uint64_t>(kind));
    const int notes = 2 + song.below(4);
    const bool rich = kind == kRichKind;
    const double base = rich ? kRichKindPitch_hz : song.uniform(1600, 6200);
    const double spread = rich ? 0.12 : song.uniform(0.12, 0.3);
    std::vector<DemoCall> phrase;
    double at = 0;
    for (int note = 0; note < notes; ++note) {
        DemoCall call;
        call.at_s = at;
        call.length_s = song.uniform(0.09, 0.2);
        call.from_hz = base * (1 + spread * song.uniform(-1, 1));
        call.to_hz =
            call.from_hz * (1 + (song.chance(0.5) ? 1 : -1) * spread * song.uniform(0.4, 1));
        phrase.push_back(call);
        at += call.length_s + song.uniform(0.14, 0.3);
    }
    const double begin = random.uniform(0, kDemoFileSeconds - at);
    const double distance = draw_distance(random);
    const double loud = kBirdLevel_dbfs + 3 * static_cast<double>(random.gaussian());
    for (DemoCall& call : phrase) {
        call.at_s += begin;
        call.distance_m = distance;
        call.level_dbfs = level_at(site, loud, distance, (call.from_hz + call.to_hz) / 2);
        calls.push_back(call);
    }
}

void add_frog(std::vector<DemoCall>& calls, const DemoSite& site, DemoRandom& random) {
    DemoCall call;
    call.animal = DemoCall::Animal::frog;
    call.from_hz = random.uniform(900, 2600);
    call.to_hz = call.from_hz * 0.96;
    call.length_s = kFrogPulse_s * (4 + random.below(10));
    call.at_s = random.uniform(0, kDemoFileSeconds - call.length_s);
    const double loud = kFrogLevel_dbfs + 3 * static_cast<double>(random.gaussian());
    call.distance_m = draw_distance(random);
    call.level_dbfs = level_at(site, loud, call.distance_m, call.from_hz);
    calls.push_back(call);
}

/// Power of white noise of variance 1 in a bin of an amplitude spectrum with a Hann window of 512:
/// 4 sum(w^2) / sum(w)^2 = 4 x 1.5 / 512.
constexpr double kBinPower = 4 * 1.5 / 512;

}  // namespace

std::vector<DemoCall> calls_of(const DemoSite& site, const DemoFile& file) {
    std::vector<DemoCall> calls;
    DemoRandom random(file.seed ^ 0xCA115);
    const double minutes = kDemoFileSeconds / 60.0;
    const int phrases = poisson(file.bird_phrases_per_minute * minutes, random);
    for (int i = 0; i < phrases; ++i) {
        const bool own = random.chance(kRichKindShare) && site.stand == "rich";
        add_phrase(calls, site, own ? kRichKind : random.below(kBirdKinds), random);
    }
    const int frogs = poisson(file.frog_calls_per_minute * minutes, random);
    for (int i = 0; i < frogs; ++i) add_frog(calls, site, random);
    return calls;
}

double noise_level_dbfs(const DemoSite& site, double hz) {
    double power = 0;
    for (const DemoNoise& noise : noises_of(site)) power += noise.density(hz);
    return 10 * std::log10(power * kBinPower);
}

DemoCalls count_calls(const DemoScenario& scenario, const DemoFile& file) {
    DemoCalls counts;
    const DemoSite& here = scenario.sites[file.site];
    for (const DemoCall& call : calls_of(here, file)) {
        ++(call.animal == DemoCall::Animal::bird ? counts.birds : counts.frogs);
        const double hz = (call.from_hz + call.to_hz) / 2;
        double floor = -300, loss = 0;
        for (const DemoSite& site : scenario.sites) {
            floor = std::max(floor, noise_level_dbfs(site, hz));
            loss = std::max(loss, stand_loss_db(site, call.distance_m, hz));
        }
        if (hz < kFirstPitch_hz || hz >= kLastPitch_hz) continue;
        const double above = call.level_dbfs - floor - kAudibleDb;
        counts.audible += above >= 0;
        counts.audible_everywhere += above - loss + stand_loss_db(here, call.distance_m, hz) >= 0;
    }
    return counts;
}

}  // namespace hearwood
