#include "listen/clip.h"

#include <algorithm>
#include <cmath>

#include "audio/audio_file.h"

namespace hearwood {

std::variant<std::vector<float>, std::string> read_stretch(const std::filesystem::path& path,
                                                           int channel, std::int64_t from,
                                                           std::int64_t count) {
    auto opened = open_audio(path);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) return bad->reason;
    AudioFile& file = std::get<AudioFile>(opened);
    const int channels = file.info().channels;
    if (channel >= channels) return std::string("it has fewer channels than when it was measured");
    std::vector<float> all(static_cast<std::size_t>(count * channels)),
        one(static_cast<std::size_t>(count));
    if (file.read_float(static_cast<std::uint64_t>(from), all.data(), one.size()) < one.size())
        return std::string("it is shorter than when it was measured");
    for (std::size_t n = 0; n < one.size(); ++n) one[n] = all[n * channels + channel];
    if (!std::all_of(one.begin(), one.end(), [](float x) { return std::isfinite(x); }))
        return std::string("it holds samples that are no numbers");
    return one;
}

void to_common_level(std::vector<float>& samples) {
    if (samples.empty()) return;
    double sum = 0, squares = 0, peak = 0;
    for (const float x : samples) sum += x;
    const double mean = sum / static_cast<double>(samples.size());
    for (float& x : samples) {
        x = static_cast<float>(x - mean);
        squares += static_cast<double>(x) * x;
        peak = std::max(peak, std::abs(static_cast<double>(x)));
    }
    if (peak <= 0) return;
    const double level = 10 * std::log10(2 * squares / static_cast<double>(samples.size()));
    const double gain = std::min(std::pow(10, (kClipLevelDbfs - level) / 20), kClipPeak / peak);
    for (float& x : samples) x = static_cast<float>(x * gain);
}

}  // namespace hearwood
