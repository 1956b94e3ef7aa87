#include "listen/silence.h"

#include <sndfile.h>

#include <algorithm>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "audio/byte_source.h"
#include "audio/container.h"
#include "audio/wave_layout.h"
#include "base/error.h"
#include "base/file.h"

namespace hearwood {
namespace {

constexpr std::size_t kBlockBytes = 1 << 20;

[[noreturn]] void refuse(const std::filesystem::path& file, const std::string& why) {
    throw InputError(
        file.string() + ": " + why,
        "convert the recording to WAV or FLAC, or remove the whole file from the survey");
}

/// Byte for byte, but for the stretch. An unsigned sample of 8 bits is silent at 128, every other
/// at 0.
void copy_wave(const std::filesystem::path& file, ByteSource& source, const WaveLayout& layout,
               std::uint64_t from, std::uint64_t to) {
    const std::uint64_t begin = layout.data_begin + from * layout.frame_bytes;
    const std::uint64_t end = layout.data_begin + to * layout.frame_bytes;
    const char silence = layout.coding == WaveCoding::unsigned8 ? static_cast<char>(128) : '\0';
    AtomicFile out(file);
    std::string block(kBlockBytes, '\0');
    for (std::uint64_t at = 0; at < source.size();) {
        const std::size_t got = source.read_at(at, block.data(), block.size());
        if (got == 0)
            throw MachineError(file.string() + ": cannot be read to its end; nothing was changed");
        const std::uint64_t first = std::max(begin, at), last = std::min(end, at + got);
        if (first < last)
            std::fill(block.begin() + static_cast<std::ptrdiff_t>(first - at),
                      block.begin() + static_cast<std::ptrdiff_t>(last - at), silence);
        out.write(std::string_view(block).substr(0, got));
        at += got;
    }
    out.commit();
}

struct Close {
    void operator()(SNDFILE* sound) const { sf_close(sound); }
};
using Sound = std::unique_ptr<SNDFILE, Close>;

/// Lossless, so the other samples are the same; the text tags go along.
void copy_flac(const std::filesystem::path& file, std::uint64_t from, std::uint64_t to) {
    SF_INFO info{};
    const Sound in(sf_open(file.c_str(), SFM_READ, &info));
    if (!in || (info.format & SF_FORMAT_TYPEMASK) != SF_FORMAT_FLAC)
        refuse(file, "silencing a stretch would change the rest of a recording of this format");
    AtomicFile target(file);
    {
        SF_INFO same = info;
        const Sound out(sf_open(target.temporary_path().c_str(), SFM_WRITE, &same));
        if (!out)
            throw MachineError(target.temporary_path().string() + ": " + sf_strerror(nullptr));
        for (int tag = SF_STR_FIRST; tag <= SF_STR_LAST; ++tag)
            if (const char* text = sf_get_string(in.get(), tag))
                sf_set_string(out.get(), tag, text);
        const std::uint64_t step = 1 << 14;
        std::vector<int> block(step * info.channels);
        for (std::uint64_t at = 0;;) {
            const auto got = static_cast<std::uint64_t>(sf_readf_int(in.get(), block.data(), step));
            if (got == 0) break;
            const std::uint64_t first = std::clamp(from, at, at + got),
                                last = std::clamp(to, at, at + got);
            std::fill(block.begin() + static_cast<std::ptrdiff_t>((first - at) * info.channels),
                      block.begin() + static_cast<std::ptrdiff_t>((last - at) * info.channels), 0);
            if (sf_writef_int(out.get(), block.data(), static_cast<sf_count_t>(got)) !=
                static_cast<sf_count_t>(got))
                throw MachineError(file.string() + ": cannot write the silenced copy: " +
                                   sf_strerror(out.get()) + "; nothing was changed");
            at += got;
        }
        if (sf_error(in.get()) != SF_ERR_NO_ERROR)
            throw MachineError(file.string() + ": cannot be read to its end; nothing was changed");
    }
    target.commit();
}

}  // namespace

void silence_frames(const std::filesystem::path& file, std::uint64_t from, std::uint64_t to) {
    auto opened = ByteSource::open(file);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) refuse(file, bad->reason);
    ByteSource& source = std::get<ByteSource>(opened);
    std::string head(12, '\0');
    head.resize(source.read_at(0, head.data(), head.size()));
    if (container_of(head) != Container::wave) return copy_flac(file, from, to);
    const auto walked = walk_wave(source);
    if (const auto* bad = std::get_if<Unreadable>(&walked)) refuse(file, bad->reason);
    const WaveLayout& layout = std::get<WaveLayout>(walked);
    if (layout.coding == WaveCoding::other) refuse(file, "its samples are compressed");
    copy_wave(file, source, layout, from, to);
}

}  // namespace hearwood
