// A short mono sound as a FLAC file: internal to this folder.
#pragma once

#include <filesystem>
#include <span>

namespace hearwood {

/// Samples in [-1, 1), `bits` 16 or 24. The file appears whole or not at all. Errors: MachineError.
void write_flac(const std::filesystem::path& path, std::span<const float> samples, int sample_rate,
                int bits);

}  // namespace hearwood
