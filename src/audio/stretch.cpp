#include "audio/stretch.h"

#include <algorithm>
#include <cmath>

#include "audio/audio_file.h"

namespace hearwood {

std::variant<Stretch, std::string> read_stretch(const std::filesystem::path& path, int channel,
                                                std::int64_t from, std::int64_t count) {
    auto opened = open_audio(path);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) return bad->reason;
    AudioFile& file = std::get<AudioFile>(opened);
    const int channels = file.info().channels;
    if (channel >= channels) return std::string("it has fewer channels than when it was measured");
    Stretch one{std::vector<float>(static_cast<std::size_t>(count)), file.info().bits};
    std::vector<float> all(static_cast<std::size_t>(count * channels));
    if (file.read_float(static_cast<std::uint64_t>(from), all.data(), one.samples.size()) <
        one.samples.size())
        return std::string("it is shorter than when it was measured");
    for (std::size_t n = 0; n < one.samples.size(); ++n)
        one.samples[n] = all[n * channels + channel];
    if (!std::all_of(one.samples.begin(), one.samples.end(),
                     [](float x) { return std::isfinite(x); }))
        return std::string("it holds samples that are no numbers");
    return one;
}

}  // namespace hearwood
