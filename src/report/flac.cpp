#include "report/flac.h"

#include <sndfile.h>

#include <memory>
#include <string>

#include "base/error.h"
#include "base/file.h"

namespace hearwood {

namespace {

struct Close {
    void operator()(SNDFILE* file) const { sf_close(file); }
};

[[noreturn]] void fail(const std::filesystem::path& path, SNDFILE* file) {
    throw MachineError(path.string() + ": cannot write sound: " + sf_strerror(file) +
                       "; free space and run again");
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
    const auto count = static_cast<sf_count_t>(samples.size());
    if (sf_writef_float(file.get(), samples.data(), count) != count) fail(path, file.get());
    // Closing writes the last block; only then is the file whole.
    if (sf_close(file.release()) != 0) fail(path, nullptr);
    target.commit(Sync::later);
}

}  // namespace hearwood
