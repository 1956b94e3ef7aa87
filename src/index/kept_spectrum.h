// What is kept per bin of every segment, so that pictures need no audio: mean power and the share
// of frames that stand out of the bin's own background. Three bytes a bin and one in front.
//
// Bytes: version (1); K little-endian 16-bit integers: 10 log10 of Pbar[k] (FS^2/Hz) in hundredths
// of a decibel, -32768 for zero power; K bytes: share s as round(254 sqrt(s)), at least 1 when s >
// 0; 255 where the bin has no background (bins 0 and N/2, and bins silent in a tenth of the
// frames). K = (size - 1) / 3.
//
// Round trip: power within 0.005 dB (from -327.67 to 327.67 dB); share within sqrt(s)/254 + 0.00001
// (0.0006 at the share of noise, 0.0187), except that 0 < s < 0.0000155 becomes 0.0000155; 0, 1,
// silence and 'no background' are exact, and encode(decode(bytes)) gives the same bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "index/segment_summary.h"

namespace hearwood {

struct KeptSpectrum {
    std::vector<float> power_db;  ///< 10 log10 Pbar[k], dB re FS^2/Hz; -infinity for zero power
    std::vector<float> standout;  ///< share of frames 0..1; NaN where the bin has no background
    int bins() const { return static_cast<int>(power_db.size()); }
};

/// REQUIRES: summary.frames >= 1.
KeptSpectrum kept_spectrum(const SegmentSummary& summary);

std::string encode(const KeptSpectrum& spectrum);
/// Errors: MachineError when the bytes are not of this form (a damaged database).
KeptSpectrum decode_kept_spectrum(std::string_view bytes);

}  // namespace hearwood
