#include "activity/trial_sound.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "audio/wave_writer.h"

namespace hearwood {
namespace {

/// From the start of a chirp to that of the next: this, and a pause out of the list.
constexpr double kLeastStep = 1.0;
constexpr double kStart = 0.5, kEnd = 0.5;  ///< silence around the chirps of the file
/// Milliseconds. Each once and in no order, so that a shifted copy of the code meets itself at one
/// chirp at most.
constexpr std::array kPauses{130, 310, 70,  410, 190, 350, 90,  270, 430, 150, 230, 50,
                             390, 110, 330, 210, 450, 170, 290, 370, 30,  250, 490};
constexpr double kFade = 0.1;  ///< of the chirp's length, at both ends

std::vector<TrialChirp> make_code() {
    std::vector<TrialChirp> chirps;
    double start = 0;
    for (std::size_t i = 0; i < kPauses.size() + 1; ++i) {
        chirps.push_back({i % kTrialBands.size(), start});
        if (i < kPauses.size()) start += kLeastStep + kPauses[i] / 1000.0;
    }
    return chirps;
}

}  // namespace

const std::vector<TrialChirp>& trial_chirps() {
    static const std::vector<TrialChirp> code = make_code();
    return code;
}

double trial_seconds() {
    return trial_chirps().back().start_s + kChirpSeconds;
}

// Phase of an exponential sweep from f1 that doubles in T seconds: 2 pi f1 T / ln 2 (2^(t / T) -
// 1).
std::vector<float> trial_chirp(std::size_t band, double sample_rate) {
    const double low = kTrialBands[band] / std::numbers::sqrt2;
    const auto count = static_cast<std::size_t>(std::llrint(kChirpSeconds * sample_rate));
    std::vector<float> chirp(count);
    for (std::size_t n = 0; n < count; ++n) {
        const double share = (static_cast<double>(n) + 0.5) / static_cast<double>(count);
        const double edge = std::min({1.0, share / kFade, (1 - share) / kFade});
        const double fade = 0.5 - 0.5 * std::cos(std::numbers::pi * edge);
        const double phase =
            2 * std::numbers::pi * low * kChirpSeconds / std::numbers::ln2 * (std::exp2(share) - 1);
        chirp[n] = static_cast<float>(fade * std::sin(phase));
    }
    return chirp;
}

void write_trial_sound(const std::filesystem::path& path) {
    constexpr int kRate = 48'000;
    constexpr float kPeak = 0.7079F;  // -3 dBFS
    const double seconds = kStart + trial_seconds() + kEnd;
    std::vector<float> sound(static_cast<std::size_t>(std::llrint(seconds * kRate)));
    for (const TrialChirp& chirp : trial_chirps()) {
        const std::vector<float> samples = trial_chirp(chirp.band, kRate);
        const auto at = static_cast<std::size_t>(std::llrint((kStart + chirp.start_s) * kRate));
        for (std::size_t n = 0; n < samples.size(); ++n) sound[at + n] = kPeak * samples[n];
    }
    WaveWriter file(path, {.sample_rate = kRate, .channels = 1, .metadata = {}});
    file.write_float(sound);
    file.close();
}

}  // namespace hearwood
