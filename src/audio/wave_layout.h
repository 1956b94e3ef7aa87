// Where what lies in a WAV or RF64 file: its chunks, held against the length of the file.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "audio/byte_source.h"
#include "audio/damage.h"
#include "audio/metadata.h"

namespace hearwood {

/// How the samples of a data chunk are written. Little endian.
enum class WaveCoding { unsigned8, pcm16, pcm24, pcm32, float32, float64, other };

struct WaveLayout {
    std::string container;  ///< "WAV" or "RF64"
    WaveCoding coding = WaveCoding::other;
    std::uint32_t sample_rate = 0;
    int channels = 0;
    int bits = 0;  ///< that carry signal; at most those of the coding
    std::uint64_t data_begin = 0;
    std::uint64_t frames = 0;  ///< whole ones that the file really holds; not filled for `other`
    std::uint64_t frame_bytes = 0;
    Metadata metadata;
    std::vector<Damage> damages;

    std::uint64_t data_bytes() const { return frames * frame_bytes; }
};

/// Walks the chunks. Reads some kilobytes whatever the header says. WaveCoding::other: a compressed
/// WAV, which libsndfile must read by itself. REQUIRES a file that begins with RIFF, RF64 or BW64
/// and WAVE.
std::variant<WaveLayout, Unreadable> walk_wave(ByteSource& source);

}  // namespace hearwood
