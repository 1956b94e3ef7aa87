// Opens one recording and hands out its samples in blocks: WAV (PCM 8, 16, 24, 32 bit, float,
// extensible, RF64), FLAC, and what else libsndfile opens. Nothing a header says is trusted before
// it was held against the file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "audio/damage.h"
#include "audio/metadata.h"

namespace hearwood {

/// The type of the samples that read() delivers: the file's own, with nothing lost.
enum class SampleFormat {
    int16,  ///< PCM of 8 and 16 bit, and compressed files of 16 bit; x = v / 2^15 (8 bit is scaled
            ///< up: exact)
    int32,  ///< PCM of 24 and 32 bit, left-justified; x = v / 2^31
    float32,  ///< x = v; NaN and infinities are passed on, and are the reader's to find
    float64,  ///< x = v
};
std::size_t bytes_of(SampleFormat format);

/// Plausible sample rates and channel counts; a file outside of them is unreadable with that
/// reason.
constexpr int kLowestSampleRate = 1'000, kHighestSampleRate = 1'000'000, kMostAudioChannels = 64;

struct AudioInfo {
    int sample_rate = 0;  ///< Hz
    int channels = 0;
    int bits = 0;  ///< of a sample as the recorder wrote it; 0 for lossy compression
    SampleFormat format = SampleFormat::int16;
    std::uint64_t frames = 0;  ///< that can be used (a frame is one sample of every channel)
    std::string container;     ///< "WAV", "RF64", "FLAC", "OGG" ...
    /// False for files in which a jump means decoding everything before it (Ogg, MP3): read those
    /// from the start onwards, with one object. Where read() lands is exact for all of them.
    bool seeks_cheaply = true;
    std::uint64_t file_bytes = 0;

    double seconds() const {
        return sample_rate > 0 ? static_cast<double>(frames) / sample_rate : 0;
    }
    std::size_t frame_bytes() const {
        return bytes_of(format) * static_cast<std::size_t>(channels);
    }
};

/// A recording that is open. One thread at a time may use an object; several objects of one file
/// are fine.
class AudioFile {
  public:
    AudioFile(AudioFile&&) noexcept;
    AudioFile& operator=(AudioFile&&) noexcept;
    ~AudioFile();

    const AudioInfo& info() const;
    const Metadata& metadata() const;

    /// Reads up to `count` frames from frame `from` on, interleaved, in info().format; reading on
    /// where the last call ended costs no seek. No allocation. Returns the frames read; fewer than
    /// asked for only at the end of what can be read. REQUIRES room for count *
    /// info().frame_bytes() bytes. A file that ends before info().frames, by a disk error say,
    /// gives what could be read and from then on has one more damage().
    std::size_t read(std::uint64_t from, void* interleaved, std::size_t count);

    /// The same as floats, integers divided by 2^(bits-1): for pictures and clips. Do not measure
    /// with it.
    std::size_t read_float(std::uint64_t from, float* interleaved, std::size_t count);

    /// Tries the last frame, so that a compressed file which was cut off is found without decoding
    /// all of it; costs little where seeks_cheaply, and does nothing else elsewhere. The result is
    /// in damages().
    void check_end();

    /// Usable when empty, else partly usable. Grows while reading (see read()).
    const std::vector<Damage>& damages() const;
    bool partly_usable() const { return !damages().empty(); }

  private:
    struct State;
    explicit AudioFile(std::unique_ptr<State> state);
    friend std::variant<AudioFile, Unreadable> open_audio(const std::filesystem::path&);
    std::unique_ptr<State> state_;
};

/// Opens a recording for reading; it reads a few kilobytes. Never throws for what is in the file or
/// on the disk.
///     auto opened = open_audio(path);
///     if (const auto* bad = std::get_if<Unreadable>(&opened)) ...
///     AudioFile& file = std::get<AudioFile>(opened);
std::variant<AudioFile, Unreadable> open_audio(const std::filesystem::path& path);

}  // namespace hearwood
