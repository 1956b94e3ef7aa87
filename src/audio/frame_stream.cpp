#include "audio/frame_stream.h"

#include <algorithm>
#include <cstdio>

namespace hearwood {
namespace {

using Window = FrameStream::Window;

sf_count_t window_length(void* user) {
    return static_cast<sf_count_t>(static_cast<Window*>(user)->length);
}

sf_count_t window_tell(void* user) {
    return static_cast<sf_count_t>(static_cast<Window*>(user)->position);
}

sf_count_t window_seek(sf_count_t offset, int whence, void* user) {
    Window& window = *static_cast<Window*>(user);
    const auto length = static_cast<sf_count_t>(window.length);
    sf_count_t base = 0;
    if (whence == SEEK_CUR) base = static_cast<sf_count_t>(window.position);
    if (whence == SEEK_END) base = length;
    // Offsets come from headers: a sum that overflows would be undefined.
    const sf_count_t step = std::clamp<sf_count_t>(offset, -base, length - base);
    window.position = static_cast<std::uint64_t>(base + step);
    return base + step;
}

sf_count_t window_read(void* bytes, sf_count_t count, void* user) {
    Window& window = *static_cast<Window*>(user);
    const std::uint64_t left = window.length - window.position;
    const std::uint64_t most =
        std::min(left, static_cast<std::uint64_t>(std::max<sf_count_t>(count, 0)));
    const std::size_t got = window.source.read_at(window.begin + window.position, bytes,
                                                  static_cast<std::size_t>(most));
    window.position += got;
    return static_cast<sf_count_t>(got);
}

SF_VIRTUAL_IO kWindowIo = {window_length, window_seek, window_read, nullptr, window_tell};

sf_count_t read_as(SNDFILE* sound, void* to, sf_count_t count, SampleFormat as) {
    switch (as) {
        case SampleFormat::int16:
            return sf_readf_short(sound, static_cast<short*>(to), count);
        case SampleFormat::int32:
            return sf_readf_int(sound, static_cast<int*>(to), count);
        case SampleFormat::float32:
            return sf_readf_float(sound, static_cast<float*>(to), count);
        case SampleFormat::float64:
            return sf_readf_double(sound, static_cast<double*>(to), count);
    }
    return 0;
}

}  // namespace

bool FrameStream::open_samples(std::uint64_t begin, std::uint64_t bytes, int rate, int channels,
                               int subtype) {
    window_.begin = begin;
    window_.length = bytes;
    how_ = SF_INFO{};
    how_.samplerate = rate;
    how_.channels = channels;
    how_.format = SF_FORMAT_RAW | SF_ENDIAN_LITTLE | subtype;
    return reopen();
}

bool FrameStream::open_whole() {
    window_.begin = 0;
    window_.length = window_.source.size();
    how_ = SF_INFO{};
    return reopen();
}

bool FrameStream::reopen() {
    sound_.reset();
    window_.position = 0;
    position_ = 0;
    sound_.reset(sf_open_virtual(&kWindowIo, SFM_READ, &how_, &window_));
    return sound_ != nullptr;
}

void FrameStream::set_type(SampleFormat format, int channels, bool seeks_cheaply) {
    format_ = format;
    frame_bytes_ = bytes_of(format) * static_cast<std::uint64_t>(channels);
    seeks_cheaply_ = seeks_cheaply;
}

bool FrameStream::go_to(std::uint64_t frame) {
    if (frame == position_ && sound_) return true;
    if (sound_ && seeks_cheaply_) {
        if (sf_seek(sound_.get(), static_cast<sf_count_t>(frame), SEEK_SET) < 0) return false;
        position_ = frame;
        return true;
    }
    if ((frame < position_ || !sound_) && !reopen()) return false;
    alignas(
        double) char scratch[8192];  // holds a frame of kMostAudioChannels doubles many times over
    while (position_ < frame) {
        const std::uint64_t most = std::min(frame - position_, sizeof scratch / frame_bytes_);
        const sf_count_t got =
            read_as(sound_.get(), scratch, static_cast<sf_count_t>(most), format_);
        if (got <= 0) return false;
        position_ += static_cast<std::uint64_t>(got);
    }
    return true;
}

std::uint64_t FrameStream::read(std::uint64_t from, void* to, std::uint64_t count,
                                SampleFormat as) {
    if (!go_to(from)) return 0;
    const sf_count_t got = read_as(sound_.get(), to, static_cast<sf_count_t>(count), as);
    const auto done = static_cast<std::uint64_t>(std::max<sf_count_t>(got, 0));
    position_ = from + done;
    return done;
}

}  // namespace hearwood
