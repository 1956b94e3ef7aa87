// Recordings without any sound: a dead microphone writes files that are all alike, and no copies of
// each other.
#pragma once

#include <filesystem>

namespace hearwood {

/// True when a recording can be opened and all of its samples are one value. Reads it up to the
/// first that differs, so all of it only where there is nothing.
bool holds_nothing(const std::filesystem::path& recording);

}  // namespace hearwood
