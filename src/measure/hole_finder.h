// Where a card could not be read its copy holds zeros (docs/offload.md). They are no sound, and a
// segment that holds some of them is not measured: this finds them.
#pragma once

#include <cstddef>
#include <cstdint>

#include "audio/audio_file.h"

namespace hearwood {

/// Looks for a hole in samples that come block by block. Of a copy with holes only: a recording of
/// a dead microphone is full of zeros by right, and there is no telling the two apart.
class HoleFinder {
  public:
    explicit HoleFinder(const AudioInfo& info);

    /// True when a hole was found, in this block or before. `frames` as in AudioFile::read().
    bool add(const void* interleaved, std::size_t frames);

    /// So many samples in a row, counted over all channels: a sector of 512 bytes holds as many of
    /// 16 bits. Holes are whole blocks of a card, 4,096 bytes and more, but for the end of a file.
    static constexpr std::size_t kSamples = 256;

  private:
    template <typename T>
    void count(const T* samples, std::size_t how_many);

    SampleFormat format_;
    std::size_t channels_;
    std::int16_t zero_byte_;  // what a byte 0 of the file becomes in samples of 16 bits
    std::size_t in_a_row_ = 0;
    bool found_ = false;
};

}  // namespace hearwood
