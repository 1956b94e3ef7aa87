// Writes 16-bit PCM WAV as it comes, the same bytes for the same samples.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>

#include "audio/metadata.h"

namespace hearwood {

/// The file appears under its name only when close() was called; until then it has a temporary
/// name. At most 4 GiB - 1 of samples. Errors: MachineError.
class WaveWriter {
  public:
    struct Options {
        int sample_rate = 48'000;
        int channels = 1;
        Metadata metadata;  ///< bext goes before the samples, GUANO after them; none by default
    };
    WaveWriter(const std::filesystem::path& path, const Options& options);
    ~WaveWriter();
    WaveWriter(const WaveWriter&) = delete;
    WaveWriter& operator=(const WaveWriter&) = delete;

    /// Interleaved; a whole number of frames.
    void write(std::span<const std::int16_t> interleaved);
    /// Samples in [-1, 1]: rounded to the nearest code, beyond it held at the top and bottom code.
    void write_float(std::span<const float> interleaved);
    void close();

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace hearwood
