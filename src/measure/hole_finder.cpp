#include "measure/hole_finder.h"

#include <limits>
#include <type_traits>

namespace hearwood {

// The 8-bit samples of WAV have no sign: 0 is their lowest value.
HoleFinder::HoleFinder(const AudioInfo& info)
    : format_(info.format),
      channels_(static_cast<std::size_t>(info.channels)),
      zero_byte_(info.bits == 8 && (info.container == "WAV" || info.container == "RF64")
                     ? std::numeric_limits<std::int16_t>::min()
                     : std::int16_t{0}) {}

template <typename T>
void HoleFinder::count(const T* samples, std::size_t how_many) {
    T zero{};
    if constexpr (std::is_same_v<T, std::int16_t>) zero = zero_byte_;
    for (std::size_t i = 0; i < how_many && !found_; ++i) {
        in_a_row_ = samples[i] == zero ? in_a_row_ + 1 : 0;
        found_ = in_a_row_ >= kSamples;
    }
}

bool HoleFinder::add(const void* interleaved, std::size_t frames) {
    const std::size_t samples = frames * channels_;
    switch (format_) {
        case SampleFormat::int16:
            count(static_cast<const std::int16_t*>(interleaved), samples);
            break;
        case SampleFormat::int32:
            count(static_cast<const std::int32_t*>(interleaved), samples);
            break;
        case SampleFormat::float32:
            count(static_cast<const float*>(interleaved), samples);
            break;
        case SampleFormat::float64:
            count(static_cast<const double*>(interleaved), samples);
            break;
    }
    return found_;
}

}  // namespace hearwood
