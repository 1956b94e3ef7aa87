#include "audio/flac_writer.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "audio/sound_handle.h"
#include "base/error.h"
#include "base/file.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// Where libsndfile writes to: closing a file it says nothing of blocks that a full disk did not
/// take.
struct Memory {
    std::string bytes;
    std::size_t at = 0;
};

Memory& memory_of(void* data) {
    return *static_cast<Memory*>(data);
}

sf_count_t length(void* data) {
    return std::ssize(memory_of(data).bytes);
}

sf_count_t tell(void* data) {
    return static_cast<sf_count_t>(memory_of(data).at);
}

sf_count_t seek(sf_count_t offset, int whence, void* data) {
    const sf_count_t from = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? tell(data) : length(data);
    memory_of(data).at = static_cast<std::size_t>(std::max<sf_count_t>(0, from + offset));
    return tell(data);
}

sf_count_t read(void* to, sf_count_t count, void* data) {
    Memory& memory = memory_of(data);
    if (memory.at >= memory.bytes.size()) return 0;
    const std::size_t got =
        memory.bytes.copy(static_cast<char*>(to), static_cast<std::size_t>(count), memory.at);
    memory.at += got;
    return static_cast<sf_count_t>(got);
}

sf_count_t write(const void* from, sf_count_t count, void* data) {
    Memory& memory = memory_of(data);
    const auto size = static_cast<std::size_t>(count);
    if (memory.bytes.size() < memory.at + size) memory.bytes.resize(memory.at + size);
    memory.bytes.replace(memory.at, size, static_cast<const char*>(from), size);
    memory.at += size;
    return count;
}

constexpr SF_VIRTUAL_IO kMemory{length, seek, read, write, tell};

[[noreturn]] void fail(const std::filesystem::path& path, SNDFILE* file) {
    throw MachineError(fmt::format(
        "{}: this sound cannot be made into FLAC: {}; report it as a fault of the program",
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
    SF_INFO info{};
    info.samplerate = sample_rate;
    info.channels = 1;
    info.format = SF_FORMAT_FLAC | (bits > 16 ? SF_FORMAT_PCM_24 : SF_FORMAT_PCM_16);
    Memory memory;
    SF_VIRTUAL_IO io = kMemory;
    SoundHandle file(sf_open_virtual(&io, SFM_WRITE, &info, &memory));
    if (!file) fail(path, nullptr);
    const std::vector<int> codes = codes_of(samples, bits > 16 ? 24 : 16);
    const auto count = static_cast<sf_count_t>(codes.size());
    if (sf_writef_int(file.get(), codes.data(), count) != count) fail(path, file.get());
    // Closing writes the last block; only then is the sound whole.
    if (sf_close(file.release()) != 0) fail(path, nullptr);
    write_whole_file(path, memory.bytes, Sync::later);
}

}  // namespace hearwood
