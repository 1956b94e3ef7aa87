// A short mono sound as a FLAC file.
#pragma once

#include <filesystem>
#include <span>

namespace hearwood {

/// Samples in [-1, 1) times 2^(bits-1), rounded to the nearest code and held at the top and bottom
/// one; `bits` 16 or 24. So what AudioFile::read_float() gave of such a file comes back the same.
/// The file appears whole or not at all; it is not synced (Sync::later). Errors: MachineError.
void write_flac(const std::filesystem::path& path, std::span<const float> samples, int sample_rate,
                int bits);

}  // namespace hearwood
