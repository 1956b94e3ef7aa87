#include "audio/flac_writer.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"

namespace hearwood {

namespace {

struct Close {
    void operator()(SNDFILE* file) const { sf_close(file); }
};

[[noreturn]] void fail(const std::filesystem::path& path, SNDFILE* file) {
    throw MachineError(fmt::format("{}: cannot write sound: {}; free space and run again",
                                   printable(path.string()), sf_strerror(file)));
}

/// Left-justified codes, as libsndfile takes integers. (Of floats it makes codes with 2^(bits-1) -
/// 1 and lets what is above full scale run over.)
std::vector<int> codes_of(std::span<const float> samples, int bits) {
    const double scale = std::ldexp(1.0, bits - 1);
    std::vector<int> codes(samples.size());
    std::transform(samples.begin(), samples.end(), codes.begin(), [&](float x) {
        const double code = std::clamp(std::nearbyint(x * scale), -scale, scale - 1);
        return static_cast<int>(code) * (1 << (32 - bits));
    });
    return codes;
}

}  // namespace

void write_flac(const std::filesystem::path& path, std::span<const float> samples, int sample_rate,
                int bits) {
    AtomicFile target(path);
    SF_INFO info{};
    info.samplerate = sample_rate;
    info.channels = 1;
    info.format = SF_FORMAT_FLAC | (bits > 16 ? SF_FORMAT_PCM_24 : SF_FORMAT_PCM_16);
    std::unique_ptr<SNDFILE, Close> file(
        sf_open(target.temporary_path().c_str(), SFM_WRITE, &info));
    if (!file) fail(path, nullptr);
    const std::vector<int> codes = codes_of(samples, bits > 16 ? 24 : 16);
    const auto count = static_cast<sf_count_t>(codes.size());
    if (sf_writef_int(file.get(), codes.data(), count) != count) fail(path, file.get());
    // Closing writes the last block; only then is the file whole.
    if (sf_close(file.release()) != 0) fail(path, nullptr);
    target.commit(Sync::later);
}

}  // namespace hearwood
