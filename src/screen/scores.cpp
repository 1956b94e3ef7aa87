#include "screen/scores.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"

namespace hearwood {
namespace {

/// How far x lies above the hinge, at most `most`: 0 below it, so that ordinary values play no
/// part.
double above(double x, double hinge, double most) {
    return is_missing(x) ? x : std::clamp(x - hinge, 0.0, most);
}

/// log2(x / unit) with x held inside [least, most].
double octaves(double x, double least, double most, double unit) {
    return is_missing(x) ? x : std::log2(std::clamp(x, least, most) / unit);
}

double held(double x, double least, double most) {
    return is_missing(x) ? x : std::clamp(x, least, most);
}

// Hard, rare clicks, as of fire, twigs, dripping, insects: over all bands, and in 1 to 2 kHz.
double tail_points(const Quantities& q) {
    return -12 * above(q.tail, 0.15, 0.8) - 12 * above(q.tail, 0.3, 0.5);
}

double crackle_points(const Quantities& q) {
    return -13 * above(q.crackle, 1.06, 0.68);
}

/// From 0 at `least` to 1 at `most`.
double rise(double x, double least, double most) {
    return std::clamp((x - least) / (most - least), 0.0, 1.0);
}

// A hump of low tones that come and go, with no beat in the treble: frogs. Where bins are too wide
// to see a hump nothing is taken off.
double frog_points(const Quantities& q) {
    if (is_missing(q.hump) || is_missing(q.lines) || is_missing(q.memory)) return 0;
    return -30 * rise(q.hump, 3, 6) * rise(q.lines, 0.8, 0.9) * (1 - rise(q.memory, 0.35, 0.45));
}

}  // namespace

double click_points(const Quantities& q) {
    return tail_points(q) + crackle_points(q);
}

double rain_score_of(const Quantities& q) {
    double score = -0.4;
    score += 6.5 * octaves(q.drops, 0.5, 4.6, 1);
    score += tail_points(q);
    score += crackle_points(q);
    score += -0.55 * above(q.tilt, 2, 12)      // a treble buzz: cicadas
             - 0.25 * above(-q.tilt, 8, 20);   // a steep fall: rotors, surf
    score -= 1.0 * above(q.surge, 0.8, 4);     // swells from second to second: surf
    score -= 0.18 * above(q.swing, 14, 20);    // calls over silence
    score -= 14.5 * above(q.throb, 0.1, 0.2);  // a beat: rotors, engines
    return score;
}

double engine_score_of(const Quantities& q) {
    double score = -5.85;
    // Blades, strokes; above 0.7 so regular a beat that nothing else heard so far makes it.
    score += 1.95 * octaves(q.throb, 0.05, 0.8, 0.05) + 60 * above(q.throb, 0.7, 0.2);
    score += 0.9 * octaves(q.hum, 0.006, 0.15, 0.006);  // steady low tones
    score += 23.5 * above(-q.lines, -0.98, 0.15);       // tones of 200 to 500 Hz
    score += 32 * above(q.whine, 0.04, 0.1);            // gears, turbines
    score -= 4.5 * octaves(q.flicker, 0.7, 3, 1);       // an unsteady low end
    score -= 0.88 * held(q.slope, -5, 2);               // engines are low-pitched
    score -= 0.48 * above(q.swing, 20, 10);             // calls over silence
    score -= 0.55 * above(q.rumble, 16, 10);            // wind on the microphone
    return score + frog_points(q);
}

}  // namespace hearwood
