#include "screen/quantities.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <span>

#include "base/missing.h"
#include "screen/blocks.h"
#include "screen/rhythm.h"
#include "screen/scores.h"
#include "spectrum/frequency_grid.h"
#include "statistics/quantile.h"

namespace hearwood {
namespace {

struct Entry {
    const char* name;
    double Quantities::*member;
    const char* unit;
    const char* title;
    const char* meaning;
    bool depends_on_gain = false;
};

constexpr Entry kEntries[] = {
    {"patter", &Quantities::patter, "1", "patter",
     "how much seven bands from 1 to 8 kHz jump together within half a second; 1 for noise, 7 if "
     "they move as one"},
    {"memory", &Quantities::memory, "1", "memory",
     "how much of those jumps is still there 0.04 to 0.18 s later; near 0 for clicks, high for "
     "waves, calls, rotors"},
    {"tail", &Quantities::tail, "1", "tail",
     "lopsidedness of those jumps; 0 for noise, towards 1 for rare hard clicks"},
    {"crackle", &Quantities::crackle, "1", "crackle",
     "frame to frame change of the bins of 1 to 2 kHz against that of noise; above 1 for clicks"},
    {"tilt", &Quantities::tilt, "dB", "tilt",
     "typical level of 4 to 8 kHz against that of 1 to 2 kHz"},
    {"surge", &Quantities::surge, "dB", "surge",
     "typical change of the level of 1 to 2 kHz from a second to the next"},
    {"drops", &Quantities::drops, "1", "drops",
     "patter without memory: patter x max(0, 1 - 2.5 memory)"},
    {"throb", &Quantities::throb, "1", "throb",
     "strength of a beat of 4 to 25 a second in the level of 60 to 250 Hz"},
    {"hum", &Quantities::hum, "1", "hum",
     "how steady single bins of 60 to 500 Hz are against their neighbours; near 0 without tones"},
    {"whine", &Quantities::whine, "1", "whine",
     "the same for the three steadiest bins of 500 to 3000 Hz"},
    {"lines", &Quantities::lines, "1", "lines",
     "frame to frame change of the bins of 200 to 500 Hz against that of noise; below 1 for steady "
     "tones"},
    {"swing", &Quantities::swing, "dB", "swing",
     "range of the level of 1 to 2 kHz, from its 10 % to its 90 % quantile"},
    {"flicker", &Quantities::flicker, "dB", "flicker",
     "typical change of the level of 60 to 250 Hz from a tenth of a second to the next; less than "
     "noise for steady tones, however close"},
    {"slope", &Quantities::slope, "dB per octave", "slope",
     "slope of the mean spectrum from 100 to 4000 Hz"},
    {"hump", &Quantities::hump, "dB", "hump",
     "loudest bin of 140 to 450 Hz against what lies below and above it; 0 or less for noise and "
     "most engines, above 6 for low tones with little else, as of frogs"},
    {"rumble", &Quantities::rumble, "dB", "rumble",
     "typical level of 60 to 250 Hz against that of 500 to 1000 Hz"},
    {"gust", &Quantities::gust, "dB", "gust",
     "typical change of the level of 60 to 250 Hz from a second to the next"},
    {"air_dbfs", &Quantities::air_dbfs, "dBFS", "level above 200 Hz",
     "level of all bins from 200 Hz up: what is left without offset and mains hum", true},
    {"flatness_db", &Quantities::flatness_db, "dB", "spectral flatness",
     "geometric against arithmetic mean of the mean power of 200 to 8000 Hz; 0 for white noise"},
    {"silent_share", &Quantities::silent_share, "1", "share of silent frames",
     "share of the frames whose samples are all 0"},
    {"rain_score", &Quantities::rain_score, "1", "rain score",
     "weighted sum of drops, tail, crackle, tilt, surge, "
     "swing and throb; above 0 means rain"},
    {"engine_score", &Quantities::engine_score, "1", "engine score",
     "weighted sum of throb, hum, lines, whine, "
     "flicker, slope, swing and rumble, less what speaks for frogs: a hump in unsteady tones "
     "without memory; above 0 means an engine"},
};

/// Two independent Rayleigh variables: E abs(a - b) / E a. What the complexity ratio of noise is
/// measured by.
const double kNoiseRatio = 2 - std::sqrt(2.0);
constexpr double kReachHz = 250;  // bins this near are a bin's neighbours
constexpr std::size_t kFewestTicks = 20;
constexpr double kLongestTick = 0.1;  // s: drops, beats and flicker are told apart within a fifth

struct Sound {
    const SegmentSummary& summary;
    FrequencyGrid grid;
    double tick_s;
    std::vector<Tick> ticks;  ///< without those that hold digital silence

    /// Power per bin of a band of the ticks.
    std::vector<float> powers(int band, double low_hz, double high_hz) const {
        const float share = 1.0f / static_cast<float>(grid.bins_in(low_hz, high_hz).count());
        std::vector<float> result(ticks.size());
        std::transform(ticks.begin(), ticks.end(), result.begin(),
                       [&](const Tick& tick) { return tick[band] * share; });
        return result;
    }

    std::vector<float> powers_from_4_to_8_khz() const {
        const float share = 1.0f / static_cast<float>(grid.bins_in(4000, 8000).count());
        std::vector<float> result(ticks.size());
        std::transform(ticks.begin(), ticks.end(), result.begin(),
                       [&](const Tick& t) { return (t[3] + t[4] + t[5] + t[6]) * share; });
        return result;
    }

    /// The complexity ratio of a bin against that of noise: 1 for noise, below it for a steady
    /// tone.
    double change(int bin) const { return summary.aci_ratio[bin] / summary.steps / kNoiseRatio; }

    double mean_change(double low_hz, double high_hz) const {
        const BinRange bins = grid.bins_in(low_hz, high_hz);
        double sum = 0;
        for (int k = bins.first; k < bins.last; ++k) sum += change(k);
        return bins.count() > 0 ? sum / bins.count() : kMissing;
    }

    /// How far each bin's change lies below the median of its neighbours', 0 where it does not.
    /// Below bin 0 the bins are mirrored, bin 0 twice.
    std::vector<double> dips(double low_hz, double high_hz) const {
        const BinRange bins = grid.bins_in(low_hz, high_hz);
        const int reach =
            std::max(1, static_cast<int>(std::nearbyint(kReachHz / grid.bin_width())));
        std::vector<double> result, around;
        for (int k = bins.first; k < bins.last; ++k) {
            around.clear();
            for (int j = k - reach; j <= k + reach && j < grid.bins(); ++j)
                around.push_back(change(j < 0 ? -1 - j : j));
            result.push_back(std::max(0.0, quantile(around, 0.5) - change(k)));
        }
        return result;
    }
};

double mean_of(const std::vector<double>& values) {
    double sum = 0;
    for (const double value : values) sum += value;
    return values.empty() ? kMissing : sum / static_cast<double>(values.size());
}

void take_jumps(Quantities& q, const Sound& sound) {
    const int n = static_cast<int>(std::nearbyint(0.5 / sound.tick_s));
    RankedBlocks blocks = rank_blocks(sound.ticks, n);
    q.patter = patter_of(blocks);
    q.memory = memory_of(blocks, sound.tick_s);
    q.tail = tail_of(blocks);
    q.drops = q.patter * std::max(0.0, 1 - 2.5 * q.memory);
    if (is_missing(q.memory)) q.drops = kMissing;
}

void take_levels(Quantities& q, const Sound& sound) {
    const std::vector<float> low = sound.powers(7, 60, 250), middle = sound.powers(8, 500, 1000);
    const std::vector<float> one = sound.powers(0, 1000, 2000);
    const auto [one_10, one_50, one_90] = quantiles_db<3>(one, {0.1, 0.5, 0.9});
    q.tilt = quantiles_db<1>(sound.powers_from_4_to_8_khz(), {0.5})[0] - one_50;
    q.swing = one_90 - one_10;
    q.rumble = quantiles_db<1>(low, {0.5})[0] - quantiles_db<1>(middle, {0.5})[0];
    q.surge = change_by_second(one, sound.tick_s);
    q.gust = change_by_second(low, sound.tick_s);
    q.flicker = flicker_of(low, sound.tick_s);
    std::vector<double> levels(low.size());
    std::transform(low.begin(), low.end(), levels.begin(),
                   [](float p) { return 10 * std::log10(p); });
    q.throb = throb_of(levels, sound.tick_s);
}

void take_changes(Quantities& q, const Sound& sound) {
    if (sound.summary.steps < 1) return;
    q.crackle = sound.mean_change(1000, 2000);
    q.lines = sound.mean_change(200, 500);
    q.hum = mean_of(sound.dips(60, 500));
    std::vector<double> high = sound.dips(500, 3000);
    if (high.size() < 3) return;
    std::nth_element(high.begin(), high.begin() + 2, high.end(), std::greater<>());
    q.whine = (high[0] + high[1] + high[2]) / 3;
}

void take_health(Quantities& q, const SegmentSummary& summary, const FrequencyGrid& grid) {
    const BinRange air = grid.bins_from(200);
    double power = 0;
    for (int k = air.first; k < air.last; ++k) power += summary.mean_power[k] * grid.bin_width();
    if (power > 0) q.air_dbfs = 10 * std::log10(2 * power);

    const BinRange flat = grid.bins_in(200, 8000);
    double sum = 0, logs = 0;
    for (int k = flat.first; k < flat.last; ++k) {
        sum += summary.mean_power[k];
        logs += std::log10(summary.mean_power[k]);
    }
    if (sum > 0 && std::isfinite(logs))
        q.flatness_db = 10 * (logs / flat.count() - std::log10(sum / flat.count()));

    const auto silent =
        std::count(summary.frame_mean_square.begin(), summary.frame_mean_square.end(), 0.0f);
    q.silent_share =
        static_cast<double>(silent) / static_cast<double>(summary.frame_mean_square.size());
}

/// Least squares of the bins' mean levels over the octaves of their frequencies, dB per octave.
/// Missing where a bin holds nothing.
double slope_of(const SegmentSummary& summary, const FrequencyGrid& grid) {
    const BinRange bins = grid.bins_in(100, 4000);
    const double n = bins.count();
    double x = 0, y = 0, xx = 0, xy = 0;
    for (int k = bins.first; k < bins.last; ++k) {
        const double octave = std::log2(k);  // the bin's width moves all of them alike
        const double level = 10 * std::log10(summary.mean_power[k]);
        x += octave;
        y += level;
        xx += octave * octave;
        xy += octave * level;
    }
    const double slope = (n * xy - x * y) / (n * xx - x * x);
    return std::isfinite(slope) ? slope : kMissing;
}

/// How far the loudest bin of [140, 450) Hz stands above the loudest of [60, 120) Hz, or above 10
/// dB more than the mean of [600, 1000) Hz, whichever is less. Missing where one of the three has
/// no bin, or nothing in it.
double hump_of(const SegmentSummary& summary, const FrequencyGrid& grid) {
    const auto powers = [&](double low_hz, double high_hz) {
        const BinRange bins = grid.bins_in(low_hz, high_hz);
        return std::span(summary.mean_power).subspan(bins.first, std::max(0, bins.count()));
    };
    const auto middle = powers(140, 450), below = powers(60, 120), over = powers(600, 1000);
    if (middle.empty() || below.empty() || over.empty()) return kMissing;
    const double mean =
        std::accumulate(over.begin(), over.end(), 0.0) / static_cast<double>(over.size());
    const double beside = std::max(*std::max_element(below.begin(), below.end()), 10 * mean);
    const double hump = 10 * std::log10(*std::max_element(middle.begin(), middle.end()) / beside);
    return std::isfinite(hump) ? hump : kMissing;
}

bool sounds(const Tick& tick) {
    return std::all_of(tick.begin(), tick.end(), [](float power) { return power > 0; });
}

}  // namespace

Quantities quantities_of(const SegmentSummary& summary) {
    Quantities q;
    if (!summary.finite || summary.frames < 1) return q;
    const FrequencyGrid grid(summary.sample_rate, summary.frame);
    take_health(q, summary, grid);
    if (summary.tick_power.empty()) return q;

    Sound sound{summary, grid, summary.tick_frames * summary.hop / summary.sample_rate, {}};
    if (sound.tick_s > kLongestTick) return q;
    std::copy_if(summary.tick_power.begin(), summary.tick_power.end(),
                 std::back_inserter(sound.ticks), sounds);
    if (sound.ticks.size() < kFewestTicks) return q;
    take_jumps(q, sound);
    take_levels(q, sound);
    take_changes(q, sound);
    q.slope = slope_of(summary, grid);
    q.hump = hump_of(summary, grid);
    q.rain_score = rain_score_of(q);
    q.engine_score = engine_score_of(q);
    return q;
}

std::vector<Column> quantity_columns() {
    std::vector<Column> columns;
    for (const Entry& entry : kEntries)
        columns.push_back({entry.name, entry.unit, Column::Kind::quantity, entry.title,
                           entry.meaning, "own definition", entry.depends_on_gain});
    return columns;
}

std::vector<double> quantity_values(const SegmentSummary& summary) {
    const Quantities q = quantities_of(summary);
    std::vector<double> values;
    for (const Entry& entry : kEntries) values.push_back(q.*entry.member);
    return values;
}

}  // namespace hearwood
