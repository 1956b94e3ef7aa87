// Sound for the ear: a stretch of a channel, at a common level.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

namespace hearwood {

/// One channel of a stretch of a recording, or why there is none.
std::variant<std::vector<float>, std::string> read_stretch(const std::filesystem::path& path,
                                                           int channel, std::int64_t from,
                                                           std::int64_t count);

/// Brings the sound to kClipLevel, or as near as its peak allows: how loud a recorder was set must
/// not tell which one it was. Offset removed.
void to_common_level(std::vector<float>& samples);

inline constexpr double kClipLevelDbfs = -26, kClipPeak = 0.89;

}  // namespace hearwood
