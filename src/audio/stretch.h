// One channel of a stretch of a recording, for clips.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

namespace hearwood {

struct Stretch {
    std::vector<float> samples;
    int bits = 16;  ///< of the file's samples; 0 for lossy compression
};

/// `count` samples of a channel from sample `from` on, all of them finite; or why there are none.
std::variant<Stretch, std::string> read_stretch(const std::filesystem::path& path, int channel,
                                                std::int64_t from, std::int64_t count);

}  // namespace hearwood
