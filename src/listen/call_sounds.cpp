#include "listen/call_sounds.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>
#include <variant>

#include "audio/audio_file.h"
#include "audio/resample.h"
#include "audio/stretch.h"

namespace hearwood {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kLongestCall = 3;  // seconds

void to_unit_level(Call& call) {
    double squares = 0;
    for (const float x : call) squares += static_cast<double>(x) * x;
    if (squares <= 0) return;
    const auto gain = static_cast<float>(1 / std::sqrt(squares / static_cast<double>(call.size())));
    for (float& x : call) x *= gain;
}

/// A raised cosine over the first and last 10 ms.
void soften_ends(Call& call, double rate) {
    const std::size_t fade = std::min(call.size() / 2, static_cast<std::size_t>(0.01 * rate));
    for (std::size_t i = 0; i < fade; ++i) {
        const auto gain = static_cast<float>(
            0.5 - 0.5 * std::cos(kPi * static_cast<double>(i) / static_cast<double>(fade)));
        call[i] *= gain;
        call[call.size() - 1 - i] *= gain;
    }
}

/// Without what lies 40 dB and more below the peak at either end.
void trim(std::vector<float>& samples) {
    float peak = 0;
    for (const float x : samples) peak = std::max(peak, std::abs(x));
    const auto loud = [&](float x) { return std::abs(x) > peak * 0.01f; };
    const auto first = std::find_if(samples.begin(), samples.end(), loud);
    const auto last = std::find_if(samples.rbegin(), samples.rend(), loud).base();
    if (first < last) samples = {first, last};
}

template <typename Sample>
Call made(double seconds, double rate, Sample sample) {
    Call call(static_cast<std::size_t>(seconds * rate));
    for (std::size_t i = 0; i < call.size(); ++i)
        call[i] = static_cast<float>(sample(static_cast<double>(i) / rate));
    soften_ends(call, rate);
    to_unit_level(call);
    return call;
}

std::vector<std::filesystem::path> files_in(const std::string& folder) {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(folder))
        if (entry.is_regular_file()) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

std::vector<Call> synthetic_calls(double rate, Random& random) {
    const auto chirp = [](double from, double to, double seconds, double t) {
        return std::sin(2 * kPi * (from * t + (to - from) * t * t / (2 * seconds)));
    };
    return {
        made(0.4, rate, [&](double t) { return chirp(2500, 4000, 0.4, t); }),
        made(0.6, rate,
             [&](double t) {
                 return std::sin(2 * kPi * 3000 * t) * (0.5 - 0.5 * std::cos(2 * kPi * 14 * t));
             }),
        made(0.3, rate, [&](double t) { return std::sin(2 * kPi * 5500 * t) * random.normal(); })};
}

std::vector<Call> calls_in(const std::string& folder, double rate,
                           std::vector<std::string>& missing) {
    std::vector<Call> calls;
    for (const std::filesystem::path& file : files_in(folder)) {
        auto opened = open_audio(file);
        if (const auto* bad = std::get_if<Unreadable>(&opened)) {
            missing.push_back(file.string() + ": " + bad->reason);
            continue;
        }
        const AudioInfo info = std::get<AudioFile>(opened).info();
        const auto longest = std::int64_t{10} * info.sample_rate;
        auto sound =
            read_stretch(file, 0, 0, std::min(longest, static_cast<std::int64_t>(info.frames)));
        if (const auto* why = std::get_if<std::string>(&sound)) {
            missing.push_back(file.string() + ": " + *why);
            continue;
        }
        Call& samples = std::get<Stretch>(sound).samples;
        trim(samples);
        samples.resize(
            std::min(samples.size(), static_cast<std::size_t>(kLongestCall * info.sample_rate)));
        Call call = resampled(samples, info.sample_rate, static_cast<int>(rate));
        if (call.size() < 64) continue;
        soften_ends(call, rate);
        to_unit_level(call);
        calls.push_back(std::move(call));
    }
    return calls;
}

}  // namespace hearwood
