// What web/worker.js calls. One recording at a time; texts live until the next call.
#include <algorithm>
#include <cstdint>
#include <exception>
#include <memory>
#include <optional>
#include <string>

#include "audio/audio_file.h"
#include "browser/lone_recording.h"
#include "picture/image.h"
#include "picture/spectrogram.h"

using namespace hearwood;

namespace {

std::optional<LoneRecording> recording;
std::string text, failure;
Image picture;
std::vector<std::uint8_t> palette;

/// The spectrogram of the first channel, drawn in steps so that it can be given up.
struct Painting {
    AudioFile file;
    SpectrogramPainter painter;
    std::uint64_t next = 0;
};
std::unique_ptr<Painting> painting;

const char* told(std::string words) {
    text = std::move(words);
    return text.c_str();
}

/// What the work gives; what it throws is kept for hw_failure, for nothing catches it outside.
template <typename Work>
auto guarded(Work work) -> decltype(work()) {
    failure.clear();
    try {
        return work();
    } catch (const std::exception& error) {
        failure = error.what();
        if (failure.empty()) failure = "not known why";
        return decltype(work())();
    }
}

}  // namespace

extern "C" {

/// Why the last call could not do its work; empty when it could.
const char* hw_failure() {
    return failure.c_str();
}

const char* hw_header() {
    return guarded([] { return told(lone_segments_header()); });
}

/// The number of its segments; 0: nothing can be measured.
double hw_open(const char* path, const char* name) {
    return guarded([&] {
        recording.emplace(path, name);
        return static_cast<double>(recording->segments());
    });
}

void hw_measure_next() {
    guarded([] { recording->measure_next(); });
}
const char* hw_facts() {
    return guarded([] { return told(recording->facts()); });
}
const char* hw_lines() {
    return guarded([] { return told(recording->lines()); });
}

/// False when there is nothing to draw.
bool hw_paint(const char* path, int width, int height) {
    return guarded([&] {
        auto opened = open_audio(path);
        auto* file = std::get_if<AudioFile>(&opened);
        if (!file || file->info().frames == 0) return false;
        const AudioInfo info = file->info();
        SpectrogramOptions options;
        options.width = width;
        options.height = height;
        painting.reset(new Painting{
            std::move(*file),
            SpectrogramPainter(info.sample_rate, static_cast<std::int64_t>(info.frames), options)});
        return true;
    });
}

/// Goes on; the share done, 1 at the end.
double hw_paint_next() {
    return guarded([] {
        constexpr std::uint64_t kAtOnce = 1 << 20;
        const std::uint64_t frames = painting->file.info().frames;
        const std::uint64_t count = std::min(kAtOnce, frames - painting->next);
        paint_stretch(painting->file, painting->next, count, 0, painting->painter);
        painting->next += count;
        return static_cast<double>(painting->next) / static_cast<double>(frames);
    });
}

/// Row by row from the top, a byte into the palette.
const std::uint8_t* hw_picture() {
    return guarded([]() -> const std::uint8_t* {
        picture = painting->painter.finish();
        painting.reset();
        return picture.pixels.data();
    });
}

/// Red, green, blue of 256 colours; the first three are paper, ink and soft ink (picture/axes.h),
/// for which the page has its own by day and by night.
const std::uint8_t* hw_palette() {
    return guarded([]() -> const std::uint8_t* {
        palette.clear();
        for (const Colour& colour : picture.palette)
            palette.insert(palette.end(), {colour.red, colour.green, colour.blue});
        palette.resize(3 * 256);
        return palette.data();
    });
}

void hw_close() {
    painting.reset();
    recording.reset();
}
}
