// The sound of the trial: chirps in four octave bands at moments that no other sound keeps, so that
// it finds itself in a recording (docs/trial.md).
#pragma once

#include <array>
#include <filesystem>
#include <vector>

namespace hearwood {

/// Centres of the octave bands, Hz; a band runs from centre / sqrt(2) to centre * sqrt(2).
inline constexpr std::array kTrialBands{1000.0, 2000.0, 4000.0, 8000.0};
inline constexpr double kChirpSeconds = 0.5;
inline constexpr int kChirpsOfBand = 6;

struct TrialChirp {
    std::size_t band = 0;  ///< into kTrialBands
    double start_s = 0;    ///< from the start of the first chirp
};
/// Of one play, in order: the bands take turns, the pauses between chirps are all different.
const std::vector<TrialChirp>& trial_chirps();
/// From the start of the first chirp to the end of the last.
double trial_seconds();

/// An upward sweep through the band, the same time in every interval, faded in and out over a
/// tenth of its length; peak 1.
std::vector<float> trial_chirp(std::size_t band, double sample_rate);

/// About 30 s, 48 kHz, 16 bits, peak -3 dBFS. Errors: MachineError.
void write_trial_sound(const std::filesystem::path& path);

}  // namespace hearwood
