#include "screen/scores.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace hearwood {
namespace {

/// How far x lies above the hinge, at most `most`: 0 below it, so that ordinary values play no
/// part.
double above(double x, double hinge, double most) {
    return std::isnan(x) ? x : std::clamp(x - hinge, 0.0, most);
}

/// log2(x / unit) with x held inside [least, most].
double octaves(double x, double least, double most, double unit) {
    return std::isnan(x) ? x : std::log2(std::clamp(x, least, most) / unit);
}

double held(double x, double least, double most) {
    return std::isnan(x) ? x : std::clamp(x, least, most);
}

// Hard, rare clicks, as of fire, twigs, dripping: over all bands, and in 1 to 2 kHz.
double tail_points(const Quantities& q) {
    return -12 * above(q.tail, 0.15, 0.8);
}

double crackle_points(const Quantities& q) {
    return -13 * above(q.crackle, 1.06, 0.68);
}

}  // namespace

std::vector<ScoreTerm> rain_terms(const Quantities& q) {
    return {
        {"start", kNoValue, -0.4},
        {"drops", q.drops, 6.5 * octaves(q.drops, 0.5, 4.6, 1)},
        {"tail", q.tail, tail_points(q)},
        {"crackle", q.crackle, crackle_points(q)},
        {"tilt", q.tilt,
         -0.55 * above(q.tilt, 2, 12)                          // a treble buzz: cicadas
             - 0.25 * above(-q.tilt, 8, 20)},                  // a steep fall: rotors, surf
        {"surge", q.surge, -1.0 * above(q.surge, 0.8, 4)},     // swells from second to second: surf
        {"swing", q.swing, -0.18 * above(q.swing, 14, 20)},    // calls over silence
        {"throb", q.throb, -14.5 * above(q.throb, 0.1, 0.2)},  // a beat: rotors, engines
    };
}

std::vector<ScoreTerm> engine_terms(const Quantities& q) {
    return {
        {"start", kNoValue, -5.85},
        // Blades, strokes; above 0.7 so regular a beat that nothing else heard so far makes it.
        {"throb", q.throb,
         1.95 * octaves(q.throb, 0.05, 0.8, 0.05) + 60 * above(q.throb, 0.7, 0.2)},
        {"hum", q.hum, 0.9 * octaves(q.hum, 0.006, 0.15, 0.006)},      // steady low tones
        {"lines", q.lines, 23.5 * above(-q.lines, -0.98, 0.15)},       // tones of 200 to 500 Hz
        {"whine", q.whine, 32 * above(q.whine, 0.04, 0.1)},            // gears, turbines
        {"flicker", q.flicker, -4.5 * octaves(q.flicker, 0.7, 3, 1)},  // an unsteady low end
        {"slope", q.slope, -0.88 * held(q.slope, -5, 2)},              // engines are low-pitched
        {"swing", q.swing, -0.48 * above(q.swing, 20, 10)},            // calls over silence
        {"rumble", q.rumble, -0.55 * above(q.rumble, 16, 10)},         // wind on the microphone
    };
}

double click_points(const Quantities& q) {
    return tail_points(q) + crackle_points(q);
}

double total(const std::vector<ScoreTerm>& terms) {
    double sum = 0;
    for (const ScoreTerm& term : terms) sum += term.points;
    return sum;
}

double rain_score_of(const Quantities& q) {
    return total(rain_terms(q));
}

double engine_score_of(const Quantities& q) {
    return total(engine_terms(q));
}

std::string explain(const std::string& name, const std::vector<ScoreTerm>& terms) {
    const double sum = total(terms);
    if (std::isnan(sum))
        return fmt::format("{} score missing: the segment lacks what it is made of", name);
    std::string text = fmt::format("{} score {:.2f} =", name, sum);
    for (const ScoreTerm& term : terms) {
        if (std::abs(term.points) < 0.005) continue;
        text += fmt::format(" {:+.2f} ({}{})", term.points, term.quantity,
                            std::isnan(term.value) ? "" : " " + readable_number(term.value));
    }
    return text;
}

}  // namespace hearwood
