// Sound for the ear, at a common level.
#pragma once

#include <vector>

namespace hearwood {

/// Brings the sound to kClipLevel, or as near as its peak allows: how loud a recorder was set must
/// not tell which one it was. Offset removed.
void to_common_level(std::vector<float>& samples);

inline constexpr double kClipLevelDbfs = -26, kClipPeak = 0.89;

}  // namespace hearwood
