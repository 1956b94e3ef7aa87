// RIFF, fmt (16 bytes), bext if any, data, guan if any. The sizes are written when all is known,
// into a file that does not yet bear its name.
#include "audio/wave_writer.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <string_view>
#include <vector>

#include "base/error.h"
#include "base/file.h"

namespace hearwood {
namespace {

void put16(std::string& to, std::uint32_t value) {
    to += static_cast<char>(value & 0xFF);
    to += static_cast<char>(value >> 8 & 0xFF);
}
void put32(std::string& to, std::uint32_t value) {
    put16(to, value & 0xFFFF);
    put16(to, value >> 16);
}

std::string bext_chunk(const BroadcastText& text) {
    std::string body;
    const auto field = [&body](const std::string& value, std::size_t width) {
        body += value.substr(0, width);
        body.resize(body.size() + width - std::min(width, value.size()), '\0');
    };
    field(text.description, 256);
    field(text.originator, 32);
    field(text.originator_reference, 32);
    field(text.origination_date, 10);
    field(text.origination_time, 8);
    body.resize(602, '\0');  // time reference, version and the rest of the fixed part: zero
    std::string chunk = "bext";
    put32(chunk, static_cast<std::uint32_t>(body.size()));
    return chunk + body;
}

std::string guano_chunk(const std::string& text) {
    std::string chunk = "guan";
    put32(chunk, static_cast<std::uint32_t>(text.size()));
    chunk += text;
    if (text.size() % 2 == 1) chunk += '\0';
    return chunk;
}

}  // namespace

struct WaveWriter::State {
    State(const std::filesystem::path& path, const Options& given) : file(path), options(given) {}

    AtomicFile file;
    Options options;
    std::string head;        // up to and with the size of the data chunk
    std::uint64_t data = 0;  // bytes written
    std::vector<std::int16_t> rounded;
};

WaveWriter::WaveWriter(const std::filesystem::path& path, const Options& options)
    : state_(std::make_unique<State>(path, options)) {
    const auto rate = static_cast<std::uint32_t>(options.sample_rate);
    const auto frame = static_cast<std::uint32_t>(options.channels) * 2;
    std::string& head = state_->head;
    head.append("RIFF\0\0\0\0WAVEfmt ", 16);
    put32(head, 16);
    put16(head, 1);  // PCM
    put16(head, static_cast<std::uint32_t>(options.channels));
    put32(head, rate);
    put32(head, rate * frame);
    put16(head, frame);
    put16(head, 16);
    if (options.metadata.bext) head += bext_chunk(*options.metadata.bext);
    head.append("data\0\0\0\0", 8);
    state_->file.write(head);
}

WaveWriter::~WaveWriter() = default;

void WaveWriter::write(std::span<const std::int16_t> samples) {
    // Little endian on disk; so are the machines we build for.
    static_assert(std::endian::native == std::endian::little);
    state_->data += samples.size_bytes();
    state_->file.write({reinterpret_cast<const char*>(samples.data()), samples.size_bytes()});
}

void WaveWriter::write_float(std::span<const float> samples) {
    auto& rounded = state_->rounded;
    rounded.resize(samples.size());
    std::transform(samples.begin(), samples.end(), rounded.begin(), [](float x) {
        return static_cast<std::int16_t>(
            std::clamp(std::nearbyint(x * 32768.0f), -32768.0f, 32767.0f));
    });
    write(rounded);
}

void WaveWriter::close() {
    State& state = *state_;
    std::string tail;
    if (!state.options.metadata.guano.empty()) tail = guano_chunk(state.options.metadata.guano);
    state.file.write(tail);
    const std::uint64_t riff = state.head.size() - 8 + state.data + tail.size();
    if (riff > 0xFFFF'FFFF)
        throw MachineError(
            "more than 4 GiB of samples do not fit into a WAV file; write shorter files");
    std::string size;
    put32(size, static_cast<std::uint32_t>(riff));
    state.file.overwrite(4, size);
    size.clear();
    put32(size, static_cast<std::uint32_t>(state.data));
    state.file.overwrite(state.head.size() - 4, size);
    state.file.commit();
}

}  // namespace hearwood
