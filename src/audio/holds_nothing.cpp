#include "audio/holds_nothing.h"

#include <algorithm>
#include <vector>

#include "audio/audio_file.h"

namespace hearwood {

bool holds_nothing(const std::filesystem::path& recording) {
    constexpr std::size_t kBlockFrames = 1 << 14;
    auto opened = open_audio(recording);
    auto* audio = std::get_if<AudioFile>(&opened);
    if (!audio || audio->info().frames == 0) return false;
    const auto channels = static_cast<std::size_t>(audio->info().channels);
    std::vector<float> block(kBlockFrames * channels);
    std::uint64_t at = 0;
    float first = 0;
    while (const std::size_t got = audio->read_float(at, block.data(), kBlockFrames)) {
        if (at == 0) first = block.front();
        const auto end = block.begin() + static_cast<std::ptrdiff_t>(got * channels);
        if (std::any_of(block.begin(), end, [first](float x) { return x != first; })) return false;
        at += got;
    }
    return at > 0;
}

}  // namespace hearwood
