#include "demo/synthesis.h"

#include <algorithm>
#include <cmath>
#include <numbers>

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

/// A tone whose pitch glides from `from_hz` to `to_hz` under a sine-shaped envelope. The sine is
/// turned by complex multiplication, so a note costs no library call a sample.
void add_note(Canvas& canvas, double at_s, double length_s, double from_hz, double to_hz,
              float level) {
    const std::size_t begin = sample_at(at_s);
    const std::size_t count =
        std::min(sample_at(length_s), canvas.size() - std::min(begin, canvas.size()));
    if (count < 2) return;
    const double n = static_cast<double>(count);
    double turn = kTwoPi * from_hz / kRate;
    const double turn_step = kTwoPi * (to_hz - from_hz) / kRate / n;
    double phase = 0;
    for (std::size_t i = 0; i < count; ++i) {
        const double envelope = std::sin(std::numbers::pi * static_cast<double>(i) / n);
        canvas[begin + i] += level * static_cast<float>(envelope * std::sin(phase));
        phase += turn;
        turn += turn_step;
    }
}

/// A kind of bird is a pattern of notes; the same number always gives the same song.
void add_phrase(Canvas& canvas, double at_s, int kind, float level) {
    DemoRandom song(0xB1D0 + static_cast<std::uint64_t>(kind));
    const int notes = 3 + song.below(5);
    const double base = song.uniform(2100, 6200);
    const double spread = song.uniform(0.08, 0.35);
    for (int note = 0; note < notes; ++note) {
        const double length = song.uniform(0.05, 0.18);
        const double from = base * (1 + spread * song.uniform(-1, 1));
        const double to = from * (1 + spread * song.uniform(-0.6, 0.6));
        add_note(canvas, at_s, length, from, to, level * static_cast<float>(song.uniform(0.5, 1)));
        at_s += length + song.uniform(0.02, 0.09);
    }
}

void add_birds(Canvas& canvas, const DemoFile& file, DemoRandom& random) {
    const double expected = file.bird_phrases_per_minute * canvas_seconds(canvas) / 60;
    // The whole part for certain, the rest by chance: the rate is kept on average, with little
    // scatter.
    int phrases = static_cast<int>(expected);
    phrases += random.chance(expected - phrases) ? 1 : 0;
    for (int i = 0; i < phrases; ++i) {
        const int kind = random.below(file.bird_kinds);
        const float level = amplitude(random.uniform(-46, -24));  // near and far
        add_phrase(canvas, random.uniform(0, canvas_seconds(canvas) - 1.5), kind, level);
    }
}

void add_frogs(Canvas& canvas, const DemoFile& file, DemoRandom& random) {
    const double expected = file.frog_calls_per_minute * canvas_seconds(canvas) / 60;
    int calls = static_cast<int>(expected);
    calls += random.chance(expected - calls) ? 1 : 0;
    for (int i = 0; i < calls; ++i) {
        const double pitch = random.uniform(900, 2600);
        const int pulses = 4 + random.below(10);
        const float level = amplitude(random.uniform(-44, -30));
        double at = random.uniform(0, canvas_seconds(canvas) - 1);
        for (int pulse = 0; pulse < pulses; ++pulse) {
            add_note(canvas, at, 0.03, pitch, pitch * 0.96, level);
            at += 0.055;
        }
    }
}

/// Each kind of insect holds a carrier and a rhythm of its own through the file.
void add_insects(Canvas& canvas, const DemoFile& file, DemoRandom& random) {
    for (int kind = 0; kind < file.insect_kinds; ++kind) {
        DemoRandom voice(0x1453C7 + static_cast<std::uint64_t>(kind));
        const double carrier = voice.uniform(3200, 9800) + random.uniform(-40, 40);
        const double pulse_s = voice.uniform(0.012, 0.03);
        const double pause_s = pulse_s * voice.uniform(0.4, 1.2);
        const double chirp_s = voice.uniform(0.4, 2.5), rest_s = voice.uniform(0.1, 1.2);
        const float level = amplitude(file.insect_level_dbfs + random.uniform(-4, 2));
        const double last_s = canvas_seconds(canvas) - 0.1;
        double at = random.uniform(0, rest_s);
        while (at < last_s) {
            const double end = std::min(at + chirp_s, last_s);
            while (at < end) {
                add_note(canvas, at, pulse_s, carrier, carrier, level);
                at += pulse_s + pause_s;
            }
            at += rest_s;
        }
    }
}

/// White noise of the recorder and reddish noise of leaves and far water, half the power each.
void add_background(Canvas& canvas, double level_dbfs, DemoRandom& random) {
    const float level = amplitude(level_dbfs - 3) * 0.7071f;
    float low = 0;
    for (float& sample : canvas) {
        low += 0.05f * (random.gaussian() - low);
        sample += level * (random.gaussian() + 6.2f * low);
    }
}

/// Drops on leaves: many short broadband clicks, none of which knows of the next.
void add_shower(Canvas& canvas, DemoRandom& random) {
    const int drops = static_cast<int>(420 * canvas_seconds(canvas));
    for (int drop = 0; drop < drops; ++drop) {
        const std::size_t begin = sample_at(random.uniform(0, canvas_seconds(canvas) - 0.01));
        const float level = amplitude(random.uniform(-42, -24));
        const double decay_s = random.uniform(0.0006, 0.002);
        const std::size_t length = sample_at(4 * decay_s);
        const float fade = std::exp(static_cast<float>(-1 / (decay_s * kRate)));
        float envelope = level;
        for (std::size_t i = 0; i < length; ++i) {
            canvas[begin + i] += envelope * random.gaussian();
            envelope *= fade;
        }
    }
    const float hiss = amplitude(-50);
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
        canvas[i] += 1.1f * swell * two;
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
        canvas[i] += static_cast<float>(0.22 * near) * body;
        stroke *= fade;
    }
}

/// A microphone that has come loose: nothing but the converter's last bit.
void make_dead(Canvas& canvas, DemoRandom& random) {
    for (float& sample : canvas) sample = random.chance(0.02) ? 1.0f / 32768 : 0.0f;
}

}  // namespace

std::vector<float> synthesise(const DemoSite& site, const DemoFile& file) {
    DemoRandom random(file.seed);
    Canvas canvas(static_cast<std::size_t>(kDemoSampleRate) * kDemoFileSeconds, 0.0f);
    if (file.dead) {
        make_dead(canvas, random);
        return canvas;
    }
    add_background(canvas, site.noise_dbfs, random);
    add_birds(canvas, file, random);
    add_frogs(canvas, file, random);
    add_insects(canvas, file, random);
    if (file.shower) add_shower(canvas, random);
    if (file.gusts) add_gusts(canvas, random);
    if (file.boat) add_boat(canvas, random);
    for (float& sample : canvas) sample = std::clamp(sample, -1.0f, 32767.0f / 32768.0f);
    return canvas;
}

}  // namespace hearwood
