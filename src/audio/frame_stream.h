// Frames of one file through libsndfile, which sees no more of the file than it is shown.
#pragma once

#include <sndfile.h>

#include <cstdint>
#include <string>

#include "audio/audio_file.h"
#include "audio/byte_source.h"
#include "audio/sound_handle.h"

namespace hearwood {

class FrameStream {
  public:
    explicit FrameStream(ByteSource source) : window_{std::move(source)} {}
    // libsndfile keeps the address of the window.
    FrameStream(const FrameStream&) = delete;
    FrameStream& operator=(const FrameStream&) = delete;

    ByteSource& source() { return window_.source; }

    /// Shows libsndfile the samples alone, as raw PCM of this SF_FORMAT_ subtype; little endian.
    bool open_samples(std::uint64_t begin, std::uint64_t bytes, int rate, int channels,
                      int subtype);
    /// Shows it the whole file; sndfile_info() then says what it found.
    bool open_whole();
    const SF_INFO& sndfile_info() const { return how_; }
    std::string why_not() const { return sf_strerror(sound_.get()); }

    /// To be called once before the first read.
    void set_type(SampleFormat format, int channels, bool seeks_cheaply);

    /// Frames read from `from` on; fewer than `count` when something failed or the sound ended.
    std::uint64_t read(std::uint64_t from, void* interleaved, std::uint64_t count, SampleFormat as);
    /// Starts anew after a failure: what state that left the decoder in is its own affair.
    bool reopen();

    /// Where in the file the last read stopped, and whether that was the end of what is shown.
    std::uint64_t byte_position() const { return window_.begin + window_.position; }
    std::uint64_t byte_end() const { return window_.begin + window_.length; }

    /// The part of a file that libsndfile takes for its file.
    struct Window {
        ByteSource source;
        std::uint64_t begin = 0, length = 0, position = 0;
    };

  private:
    bool go_to(std::uint64_t frame);

    Window window_;
    SF_INFO how_{};
    SoundHandle sound_;
    SampleFormat format_ = SampleFormat::int16;
    std::uint64_t frame_bytes_ = 0;
    bool seeks_cheaply_ = true;
    std::uint64_t position_ = 0;  // of libsndfile, in frames
};

}  // namespace hearwood
