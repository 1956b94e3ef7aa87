// A sound file with a stretch of silence in place of a voice.
#pragma once

#include <cstdint>
#include <filesystem>

namespace hearwood {

/// Replaces the file by a copy in which frames [from, to) of every channel are silent; all or
/// nothing. WAV keeps every other byte; FLAC is written anew, with its text tags. Errors:
/// InputError for a format that cannot be rewritten without changing the rest (lossy ones);
/// MachineError.
/// require_silenceable() tells before anything is changed whether it can be done.
void silence_frames(const std::filesystem::path& file, std::uint64_t from, std::uint64_t to);

/// Errors: InputError where silence_frames() would refuse the file.
void require_silenceable(const std::filesystem::path& file);

}  // namespace hearwood
