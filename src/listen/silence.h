// A copy of a sound file with a stretch of silence. Internal to this folder.
#pragma once

#include <cstdint>
#include <filesystem>

namespace hearwood {

/// Replaces the file by a copy in which frames [from, to) of every channel are silent; all or
/// nothing. Errors as forget_stretch().
void silence_frames(const std::filesystem::path& file, std::uint64_t from, std::uint64_t to);

}  // namespace hearwood
