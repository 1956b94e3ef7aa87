// What one pass over the samples of a segment leaves behind: sums per bin, per frame and per tick.
// Every index, level and screen quantity is a small function of this struct, and so are the kept
// spectra. Symbols as in docs/measures.md: N frame length, H hop, M frames, K = N/2 + 1 bins.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "index/sound_event.h"

namespace hearwood {

struct SegmentSummary {
    double sample_rate = 0;    ///< Hz
    int frame = 0, hop = 0;    ///< N, H
    std::int64_t samples = 0;  ///< of the segment, those after the last whole frame included
    int frames = 0;            ///< M

    // Per bin k = 0..N/2.
    std::vector<double> mean_power;      ///< Pbar[k], FS^2/Hz, one-sided
    std::vector<double> mean_amplitude;  ///< mean over all M frames of A_m[k]
    std::vector<double>
        aci_ratio;  ///< sum over whole steps of (sum abs dA / sum A); 0 where sum A is 0
    std::vector<std::uint32_t> loud_cells;  ///< frames with 20 log10 A > -50 dBFS; 0 from 10 kHz on
    std::vector<std::uint32_t>
        standout_cells;  ///< frames that stand out of the bin's own background
    std::vector<std::uint8_t> has_background;  ///< 0 where q10 is 0, and for the bins 0 and N/2
    std::vector<double> step_amplitude;        ///< sum of A over the frames of whole steps
    int step_frames = 0;                       ///< J
    int steps = 0;                             ///< whole steps in the segment

    // Per frame m.
    std::vector<float> frame_mean_square;  ///< of the raw samples

    // Per whole tick of T = max(1, round(0.0213 fs / H)) frames (docs/screens.md): sums of |X|^2
    // over the tick's frames in [1,2) .. [7,8) kHz, then [60,250) and [500,1000) Hz. Empty when fs
    // < 16 kHz.
    int tick_frames = 0;
    std::vector<std::array<float, 9>> tick_power;

    /// Per bin: 1 where no index may look (choirs, on even terms). Empty: everywhere.
    std::vector<std::uint8_t> left_out;
    bool counts(int k) const { return left_out.empty() || !left_out[k]; }

    // Of the analysis of its own that sound events have (sound_event.h).
    SegmentSounds sounds;

    // Of all samples.
    double mean_square = 0;
    double peak = 0;           ///< max abs x
    double mean = 0;           ///< dc offset
    std::int64_t clipped = 0;  ///< samples in runs of two or more at the top or bottom code
    bool finite = true;        ///< false: a NaN, an infinity or a sample beyond 1e15 was met, and
                               ///< nothing else here can be trusted
};

}  // namespace hearwood
