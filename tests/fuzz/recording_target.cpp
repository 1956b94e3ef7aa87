// Open and measure: any bytes are a recording or unreadable with a reason; what is read can be
// measured.
#include <cstdlib>
#include <span>
#include <variant>
#include <vector>

#include "audio/audio_file.h"
#include "index/engine/segment_analyser.h"
#include "index/index_values.h"
#include "target.h"

namespace {

using namespace hearwood;

template <typename T>
void measure(AudioFile& file, SegmentAnalyser& analyser) {
    const AudioInfo& info = file.info();
    constexpr std::size_t kBlock = 4096;
    std::vector<T> block(kBlock * static_cast<std::size_t>(info.channels));
    analyser.begin(info.bits);
    std::int64_t room = analyser.segment_samples();
    for (std::uint64_t at = 0; room > 0;) {
        const auto wanted = std::min<std::size_t>(kBlock, static_cast<std::size_t>(room));
        const std::size_t got = file.read(at, block.data(), wanted);
        if (got > wanted) std::abort();
        if (got == 0) break;
        analyser.add_channel(
            std::span<const T>(block.data(), got * static_cast<std::size_t>(info.channels)),
            info.channels, info.channels - 1);
        at += got;
        room -= static_cast<std::int64_t>(got);
    }
}

void measure_any(AudioFile& file) {
    MeasureSettings settings;
    settings.segment_s = 0.5;
    settings.step_s = 0.1;
    SegmentAnalyser analyser(settings, file.info().sample_rate);
    switch (file.info().format) {
        case SampleFormat::int16:
            measure<std::int16_t>(file, analyser);
            break;
        case SampleFormat::int32:
            measure<std::int32_t>(file, analyser);
            break;
        case SampleFormat::float32:
            measure<float>(file, analyser);
            break;
        case SampleFormat::float64:
            measure<double>(file, analyser);
            break;
    }
    const SegmentSummary& summary = analyser.finish();
    if (summary.frames > 0 && summary.finite) (void)index_values(summary, settings);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::filesystem::path path = fuzz::scratch() / "recording.wav";
    fuzz::put(path, data, size);
    auto opened = open_audio(path);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) {
        if (bad->reason.empty()) std::abort();
        return 0;
    }
    AudioFile& file = std::get<AudioFile>(opened);
    const AudioInfo& info = file.info();
    if (info.channels < 1 || info.sample_rate < kLowestSampleRate ||
        info.sample_rate > kHighestSampleRate)
        std::abort();
    // A high rate means a large analyser; its size is a matter of settings, not of input.
    if (info.sample_rate <= 48'000) measure_any(file);
    return 0;
}
