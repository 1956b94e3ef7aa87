#include "demo/synthesis.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "activity/trial_sound.h"
#include "demo/calls.h"
#include "demo/noise.h"
#include "demo/random.h"

namespace hearwood {
namespace {

constexpr double kRate = kDemoSampleRate;
constexpr double kTwoPi = 2 * std::numbers::pi;
using Canvas = std::vector<float>;

float amplitude(double dbfs) {
    return static_cast<float>(std::pow(10.0, dbfs / 20));
}

std::size_t sample_at(double seconds) {
    return static_cast<std::size_t>(seconds * kRate);
}

double canvas_seconds(const Canvas& canvas) {
    return static_cast<double>(canvas.size()) / kRate;
}

using Phasor = std::complex<double>;

Phasor turned(double angle) {
    return {std::cos(angle), std::sin(angle)};
}

/// Product without the library's care for infinities, which costs a call each.
Phasor times(Phasor a, Phasor b) {
    return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

/// A tone whose pitch glides from `from_hz` to `to_hz` under a sine-shaped envelope. Sines are
/// turned by complex multiplication, so a sample costs no library call.
void add_note(Canvas& canvas, double at_s, double length_s, double from_hz, double to_hz,
              float level) {
    const std::size_t begin = sample_at(at_s);
    const std::size_t count =
        std::min(sample_at(length_s), canvas.size() - std::min(begin, canvas.size()));
    if (count < 2) return;
    const double n = static_cast<double>(count);
    const Phasor faster = turned(kTwoPi * (to_hz - from_hz) / kRate / n);
    const Phasor swell_step = turned(std::numbers::pi / n);
    Phasor tone{1, 0}, turn = turned(kTwoPi * from_hz / kRate), swell{1, 0};
    for (std::size_t i = 0; i < count; ++i) {
        canvas[begin + i] += level * static_cast<float>(swell.imag() * tone.imag());
        tone = times(tone, turn);
        turn = times(turn, faster);
        swell = times(swell, swell_step);
    }
}

void add_frog(Canvas& canvas, const DemoCall& call, float level) {
    for (double at = 0; at + kFrogPulse_s <= call.length_s + 1e-9; at += kFrogPulse_s)
        add_note(canvas, call.at_s + at, 0.03, call.from_hz, call.to_hz, level);
}

void add_calls(Canvas& canvas, const DemoSite& site, const DemoFile& file) {
    for (const DemoCall& call : calls_of(site, file)) {
        const float level = amplitude(call.level_dbfs);
        if (call.animal == DemoCall::Animal::frog)
            add_frog(canvas, call, level);
        else
            add_note(canvas, call.at_s, call.length_s, call.from_hz, call.to_hz, level);
    }
}

/// A kind of insect has a carrier and a rhythm of its own, and calls without end.
struct Insect {
    double carrier_hz, pulse_s, pause_s, chirp_s, rest_s, level_dbfs;
};
constexpr Insect kInsects[] = {
    {7300, 0.021, 0.017, 0.9, 0.35, -66},  // through the night
    {3900, 0.012, 0.006, 2.4, 0.10, -56},  // around sunset
    {8600, 0.016, 0.010, 1.8, 0.20, -69},  // through the day
};

void add_insects(Canvas& canvas, const DemoFile& file, DemoRandom& random) {
    const double last_s = canvas_seconds(canvas) - 0.1;
    for (const int kind : file.choirs) {
        const Insect& insect = kInsects[kind];
        const double carrier = insect.carrier_hz + random.uniform(-40, 40);
        const float level = amplitude(insect.level_dbfs + random.uniform(-3, 2));
        double at = random.uniform(0, insect.rest_s);
        while (at < last_s) {
            for (const double end = std::min(at + insect.chirp_s, last_s); at < end;
                 at += insect.pulse_s + insect.pause_s)
                add_note(canvas, at, insect.pulse_s, carrier, carrier, level);
            at += insect.rest_s;
        }
    }
}

void add_noise(Canvas& canvas, const DemoNoise& noise, DemoRandom& random) {
    const auto deviation = static_cast<float>(noise.deviation);
    const auto pole = static_cast<float>(noise.pole);
    float low = 0;
    for (float& sample : canvas) {
        low += pole * (deviation * random.gaussian() - low);
        sample += low;
    }
}

/// Drops on leaves: many short broadband clicks, none of which knows of the next.
void add_shower(Canvas& canvas, DemoRandom& random) {
    const int drops = static_cast<int>(420 * canvas_seconds(canvas));
    for (int drop = 0; drop < drops; ++drop) {
        const std::size_t begin = sample_at(random.uniform(0, canvas_seconds(canvas) - 0.01));
        const float level = amplitude(random.uniform(-48, -30));
        const double decay_s = random.uniform(0.0006, 0.002);
        const std::size_t length = sample_at(4 * decay_s);
        const float fade = std::exp(static_cast<float>(-1 / (decay_s * kRate)));
        float envelope = level;
        for (std::size_t i = 0; i < length; ++i) {
            canvas[begin + i] += envelope * random.gaussian();
            envelope *= fade;
        }
    }
    const float hiss = amplitude(-58);
    for (float& sample : canvas) sample += hiss * random.gaussian();
}

/// Wind: a deep rumble that swells and sinks over seconds.
void add_gusts(Canvas& canvas, DemoRandom& random) {
    float one = 0, two = 0, swell = 0, target = 0;
    for (std::size_t i = 0; i < canvas.size(); ++i) {
        if (i % static_cast<std::size_t>(kRate) == 0)
            target = static_cast<float>(random.uniform(0.05, 1));
        swell += (target - swell) / static_cast<float>(0.3 * kRate);
        one += 0.03f * (random.gaussian() - one);
        two += 0.03f * (one - two);
        canvas[i] += 0.5f * swell * two;
    }
}

/// A boat passes: the firing of an engine with its harmonics, louder and softer again.
void add_boat(Canvas& canvas, DemoRandom& random) {
    const double firing_hz = random.uniform(11, 14);
    const double seconds = canvas_seconds(canvas);
    double until_stroke = 0;
    float stroke = 0, body = 0;
    const float fade = std::exp(static_cast<float>(-1 / (0.012 * kRate)));
    for (std::size_t i = 0; i < canvas.size(); ++i) {
        const double t = static_cast<double>(i) / kRate;
        if (until_stroke <= 0) {
            stroke = 1;
            until_stroke += kRate / firing_hz;
        }
        until_stroke -= 1;
        const double near = std::exp(-0.5 * std::pow((t - seconds / 2) / (seconds / 3), 2));
        body += 0.12f * (stroke * random.gaussian() - body);
        canvas[i] += static_cast<float>(0.09 * near) * body;
        stroke *= fade;
    }
}

/// The sound of the trial from a speaker so far away; each chirp's pitch doubles in its length.
void add_trial(Canvas& canvas, const DemoSite& site, double distance_m, DemoRandom& random) {
    constexpr double kStart_s = 1.5, kLevelAt2m_dbfs = -14;
    constexpr double kScatter_dbPerM = 0.02;  // leaves move: no chirp arrives as the last did
    for (const TrialChirp& chirp : trial_chirps()) {
        const std::vector<float> samples = trial_chirp(chirp.band, kRate);
        const std::size_t begin = sample_at(kStart_s + chirp.start_s + distance_m / 340);
        const double low_hz = kTrialBands[chirp.band] / std::numbers::sqrt2;
        const double scatter_db = kScatter_dbPerM * distance_m * random.gaussian();
        for (std::size_t i = 0; i < samples.size(); ++i) {
            const double hz =
                low_hz * std::exp2(static_cast<double>(i) / static_cast<double>(samples.size()));
            const double loss_db =
                20 * std::log10(distance_m / 2) + stand_loss_db(site, distance_m, hz) + scatter_db;
            canvas[begin + i] += amplitude(kLevelAt2m_dbfs - loss_db) * samples[i];
        }
    }
}

/// A microphone that has come loose: nothing but the converter's last bit.
void make_dead(Canvas& canvas, DemoRandom& random) {
    for (float& sample : canvas) sample = random.chance(0.02) ? 1.0f / 32768 : 0.0f;
}

}  // namespace

std::vector<float> synthesise(const DemoSite& site, const DemoFile& file) {
    DemoRandom random(file.seed);
    const int seconds = file.trial_m > 0 ? kDemoTrialSeconds : kDemoFileSeconds;
    Canvas canvas(static_cast<std::size_t>(kDemoSampleRate * seconds), 0.0f);
    if (file.dead) {
        make_dead(canvas, random);
        return canvas;
    }
    for (const DemoNoise& noise : noises_of(site)) add_noise(canvas, noise, random);
    add_calls(canvas, site, file);
    add_insects(canvas, file, random);
    if (file.trial_m > 0) add_trial(canvas, site, file.trial_m, random);
    if (file.shower) add_shower(canvas, random);
    if (file.gusts) add_gusts(canvas, random);
    if (file.boat) add_boat(canvas, random);
    for (float& sample : canvas) sample = std::clamp(sample, -1.0f, 32767.0f / 32768.0f);
    return canvas;
}

}  // namespace hearwood
