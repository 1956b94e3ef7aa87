#include "audio/silence.h"

#include <sndfile.h>

#include <algorithm>
#include <string>
#include <variant>
#include <vector>

#include "audio/byte_source.h"
#include "audio/container.h"
#include "audio/sound_handle.h"
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

constexpr std::size_t kFlacStep = 1 << 14;  // frames

/// What of [from, to) lies in the `count` frames from `at` on becomes silence.
void silence(std::vector<int>& block, std::uint64_t at, std::uint64_t count, int channels,
             std::uint64_t from, std::uint64_t to) {
    const auto place = [&](std::uint64_t frame) {
        return block.begin() +
               static_cast<std::ptrdiff_t>(std::clamp(frame, at, at + count) - at) * channels;
    };
    std::fill(place(from), place(to), 0);
}

/// Holds the copy against the original sample by sample: only then may it take its place. (What
/// libsndfile wrote as it closed a file on a full disk it does not always tell.)
void require_silenced(const std::filesystem::path& copy, const std::filesystem::path& original,
                      std::uint64_t from, std::uint64_t to) {
    SF_INFO info{}, of_copy{};
    const SoundHandle before(sf_open(original.c_str(), SFM_READ, &info));
    const SoundHandle after(sf_open(copy.c_str(), SFM_READ, &of_copy));
    bool equal = before && after && info.frames == of_copy.frames &&
                 info.channels == of_copy.channels && info.samplerate == of_copy.samplerate;
    std::vector<int> expected(kFlacStep * static_cast<std::size_t>(info.channels)), found(expected);
    for (std::uint64_t at = 0; equal;) {
        const auto got = sf_readf_int(before.get(), expected.data(), kFlacStep);
        equal = sf_readf_int(after.get(), found.data(), kFlacStep) == got;
        if (got <= 0) break;
        const auto frames = static_cast<std::uint64_t>(got);
        silence(expected, at, frames, info.channels, from, to);
        const auto end = expected.begin() + got * info.channels;
        equal = equal && std::equal(expected.begin(), end, found.begin());
        at += frames;
    }
    if (!equal)
        throw MachineError(original.string() +
                           ": the silenced copy does not read back as it was written; nothing was "
                           "changed: check the disk's free space and health");
}

/// Lossless, so the other samples are the same; the text tags go along.
void copy_flac(const std::filesystem::path& file, std::uint64_t from, std::uint64_t to) {
    SF_INFO info{};
    const SoundHandle in(sf_open(file.c_str(), SFM_READ, &info));
    if (!in || (info.format & SF_FORMAT_TYPEMASK) != SF_FORMAT_FLAC)
        refuse(file, "silencing a stretch would change the rest of a recording of this format");
    AtomicFile target(file);
    {
        SF_INFO same = info;
        const SoundHandle out(sf_open(target.temporary_path().c_str(), SFM_WRITE, &same));
        if (!out)
            throw MachineError(target.temporary_path().string() + ": " + sf_strerror(nullptr));
        for (int tag = SF_STR_FIRST; tag <= SF_STR_LAST; ++tag)
            if (const char* text = sf_get_string(in.get(), tag))
                sf_set_string(out.get(), tag, text);
        std::vector<int> block(kFlacStep * static_cast<std::size_t>(info.channels));
        for (std::uint64_t at = 0;;) {
            const auto got =
                static_cast<std::uint64_t>(sf_readf_int(in.get(), block.data(), kFlacStep));
            if (got == 0) break;
            silence(block, at, got, info.channels, from, to);
            if (sf_writef_int(out.get(), block.data(), static_cast<sf_count_t>(got)) !=
                static_cast<sf_count_t>(got))
                throw MachineError(file.string() + ": cannot write the silenced copy: " +
                                   sf_strerror(out.get()) + "; nothing was changed");
            at += got;
        }
        if (sf_error(in.get()) != SF_ERR_NO_ERROR)
            throw MachineError(file.string() + ": cannot be read to its end; nothing was changed");
    }
    require_silenced(target.temporary_path(), file, from, to);
    target.commit();
}

}  // namespace

void require_silenceable(const std::filesystem::path& file) {
    auto opened = ByteSource::open(file);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) refuse(file, bad->reason);
    ByteSource& source = std::get<ByteSource>(opened);
    std::string head(12, '\0');
    head.resize(source.read_at(0, head.data(), head.size()));
    if (container_of(head) != Container::wave) {
        SF_INFO info{};
        const SoundHandle in(sf_open(file.c_str(), SFM_READ, &info));
        if (!in || (info.format & SF_FORMAT_TYPEMASK) != SF_FORMAT_FLAC)
            refuse(file, "silencing a stretch would change the rest of a recording of this format");
        return;
    }
    const auto walked = walk_wave(source);
    if (const auto* bad = std::get_if<Unreadable>(&walked)) refuse(file, bad->reason);
    if (std::get<WaveLayout>(walked).coding == WaveCoding::other)
        refuse(file, "its samples are compressed");
}

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
