// The chunk reader alone, far quicker than opening and measuring: whatever the chunks promise, the
// samples it tells of lie inside of the file.
#include <cstdlib>
#include <variant>

#include "audio/wave_layout.h"
#include "target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace hearwood;
    // What walk_wave asks of its callers: a file that begins as a WAV.
    std::string bytes(reinterpret_cast<const char*>(data), size);
    if (bytes.size() < 12) return 0;
    if (!bytes.starts_with("RF64") && !bytes.starts_with("BW64")) bytes.replace(0, 4, "RIFF");
    bytes.replace(8, 4, "WAVE");
    const std::filesystem::path path = fuzz::scratch() / "chunks.wav";
    fuzz::put(path, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    auto opened = ByteSource::open(path);
    const auto layout = walk_wave(std::get<ByteSource>(opened));
    if (const auto* bad = std::get_if<Unreadable>(&layout)) {
        if (bad->reason.empty()) std::abort();
        return 0;
    }
    const WaveLayout& wave = std::get<WaveLayout>(layout);
    if (wave.coding == WaveCoding::other) return 0;
    if (wave.channels < 1 || wave.sample_rate < 1 || wave.frame_bytes < 1) std::abort();
    if (wave.data_begin > size || wave.frames > (size - wave.data_begin) / wave.frame_bytes)
        std::abort();
    for (const Damage& damage : wave.damages)
        if (describe(damage).empty() || !(damage.seconds_lost >= 0)) std::abort();
    return 0;
}
