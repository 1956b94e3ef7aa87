// A WAV file is "RIFF", a 32-bit size, "WAVE", then chunks: four letters, a 32-bit size, that many
// bytes, and a pad byte after an odd size. Of these we need
//     fmt    how a sample is written (16 bytes, 40 when extensible)
//     data   the samples
//     ds64   the 64-bit sizes of files beyond 4 GB, RF64 only and first; data says 0xFFFFFFFF then
//     bext   text about the recording, before the samples or after them; guan likewise
// A recorder writes the sizes last; when its battery dies they stay 0 or at what it reserved, and
// then the length of the file is the better witness; so it is where a length beyond 4 GB was cut to
// 32 bits.
#include "audio/wave_layout.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <optional>
#include <string_view>

#include "audio/container.h"
#include "base/text.h"

namespace hearwood {
namespace {

// A proper file has a dozen; a hostile one millions of empty ones.
constexpr int kMostChunks = 1'000;
// Of a bext chunk: description 256, originator 32, reference 32, date 10, time 8; the rest is not
// used here.
constexpr std::size_t kBextBytes = 338;
constexpr std::size_t kMostText = 65'536;
constexpr int kPcm = 1, kFloat = 3, kExtensible = 0xFFFE;  // format tags
constexpr std::uint64_t kNoSize32 = 0xFFFF'FFFF;
constexpr std::uint64_t kRound32 = std::uint64_t{1} << 32;

std::uint16_t u16(const char* p) {
    const auto* b = reinterpret_cast<const unsigned char*>(p);
    return static_cast<std::uint16_t>(b[0] | b[1] << 8);
}
std::uint32_t u32(const char* p) {
    return u16(p) | static_cast<std::uint32_t>(u16(p + 2)) << 16;
}
std::uint64_t u64(const char* p) {
    return u32(p) | static_cast<std::uint64_t>(u32(p + 4)) << 32;
}

/// Small reads near each other, served from one page.
class PagedReader {
  public:
    explicit PagedReader(ByteSource& source) : source_(source) {}
    std::uint64_t size() const { return source_.size(); }

    /// At most `most` bytes at the offset, fewer at the end of the file; valid until the next call.
    std::string_view at(std::uint64_t offset, std::size_t most) {
        if (offset >= source_.size()) return {};
        if (most > page_.size()) return large(offset, most);
        if (offset < begin_ || offset + most > begin_ + filled_) {
            begin_ = offset;
            filled_ = source_.read_at(offset, page_.data(), page_.size());
        }
        const auto skip = static_cast<std::size_t>(offset - begin_);
        return {page_.data() + skip, std::min(most, filled_ - skip)};
    }

  private:
    std::string_view large(std::uint64_t offset, std::size_t most) {
        large_.resize(most);
        large_.resize(source_.read_at(offset, large_.data(), most));
        return large_;
    }

    ByteSource& source_;
    std::array<char, 4096> page_{};
    std::string large_;
    std::uint64_t begin_ = 0;
    std::size_t filled_ = 0;
};

struct DataChunk {
    std::uint64_t begin = 0;
    std::uint64_t promised = 0;
    bool unfinished = false;
    std::uint64_t after = 0;  ///< where the chunks behind it would begin
};

class Walker {
  public:
    explicit Walker(ByteSource& source) : source_(source), reader_(source) {}
    std::variant<WaveLayout, Unreadable> walk();

  private:
    void take_chunks();
    void take_chunk(std::string_view id, std::uint64_t begin, std::uint64_t size);
    void take_format(std::string_view bytes);
    void take_bext(std::string_view bytes);
    void take_data(std::uint64_t begin, std::uint64_t size);
    bool chunks_fill(std::uint64_t from);
    bool is_padding(std::uint64_t from);
    void measure_data();
    double seconds(std::uint64_t bytes) const;
    std::uint64_t frame_bytes() const {
        return static_cast<std::uint64_t>(container_bytes_) * layout_.channels;
    }

    ByteSource& source_;
    PagedReader reader_;
    WaveLayout layout_;
    bool has_format_ = false;
    std::optional<DataChunk> data_;
    std::uint64_t data_size_64_ = 0;  // of ds64
    bool has_size_64_ = false;
    std::uint64_t stray_begin_ = 0;  // bytes that are no chunk; 0: none
    int format_tag_ = 0;
    int container_bytes_ = 0;  // of a sample in the file
};

/// Chunk names are printable by the standard; anything else is not a chunk but stray bytes.
bool is_chunk_id(std::string_view id) {
    return std::all_of(id.begin(), id.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

std::uint64_t padded(std::uint64_t size) {
    return size + (size & 1);
}

void Walker::take_chunks() {
    std::uint64_t offset = 12;
    for (int count = 0; count < kMostChunks && offset < reader_.size(); ++count) {
        const std::string_view header = reader_.at(offset, 8);
        if (header.size() < 8 || !is_chunk_id(header.substr(0, 4))) {
            stray_begin_ = offset;
            return;
        }
        const std::string id(header.substr(0, 4));
        const std::uint64_t size = u32(header.data() + 4);
        const bool is_data = id == "data" && !data_;
        take_chunk(id, offset + 8, size);
        offset = is_data ? data_->after : offset + 8 + padded(size);
    }
}

void Walker::take_chunk(std::string_view id, std::uint64_t begin, std::uint64_t size) {
    const auto most = [size](std::size_t limit) {
        return static_cast<std::size_t>(std::min<std::uint64_t>(size, limit));
    };
    if (id == "data" && !data_) {
        take_data(begin, size);
    } else if (id == "fmt " && !has_format_) {
        take_format(reader_.at(begin, most(40)));
    } else if (id == "ds64" && size >= 16) {
        const std::string_view bytes = reader_.at(begin, 16);
        has_size_64_ = bytes.size() == 16;
        if (has_size_64_) data_size_64_ = u64(bytes.data() + 8);
    } else if (id == "bext") {
        take_bext(reader_.at(begin, most(kBextBytes)));
    } else if (id == "guan") {
        layout_.metadata.guano = std::string(reader_.at(begin, most(kMostText)));
    }
}

/// fmt: tag, channels, rate, bytes a second, bytes a frame, bits; extensible: size, valid bits,
/// speakers, GUID, whose first two bytes are the tag proper.
void Walker::take_format(std::string_view bytes) {
    if (bytes.size() < 16) return;
    has_format_ = true;
    format_tag_ = u16(bytes.data());
    layout_.channels = u16(bytes.data() + 2);
    layout_.sample_rate = u32(bytes.data() + 4);
    const int frame = u16(bytes.data() + 12);
    layout_.bits = u16(bytes.data() + 14);
    // The container is what a frame leaves for each channel (24 bits in 4 bytes happen), if that
    // makes sense.
    container_bytes_ = (layout_.bits + 7) / 8;
    if (layout_.channels > 0 && frame % layout_.channels == 0 &&
        frame / layout_.channels > container_bytes_)
        container_bytes_ = frame / layout_.channels;
    if (format_tag_ == kExtensible && bytes.size() >= 40) {
        const int valid_bits = u16(bytes.data() + 18);
        if (valid_bits > 0 && valid_bits < layout_.bits) layout_.bits = valid_bits;
        format_tag_ = u16(bytes.data() + 24);
    }
    if (format_tag_ == kPcm && container_bytes_ >= 1 && container_bytes_ <= 4) {
        constexpr WaveCoding by_size[] = {WaveCoding::unsigned8, WaveCoding::pcm16,
                                          WaveCoding::pcm24, WaveCoding::pcm32};
        layout_.coding = by_size[container_bytes_ - 1];
    } else if (format_tag_ == kFloat && container_bytes_ == 4) {
        layout_.coding = WaveCoding::float32;
    } else if (format_tag_ == kFloat && container_bytes_ == 8) {
        layout_.coding = WaveCoding::float64;
    }
}

void Walker::take_bext(std::string_view bytes) {
    if (bytes.size() < kBextBytes) return;
    const auto text = [bytes](std::size_t from, std::size_t length) {
        const std::string_view field = bytes.substr(from, length);
        return std::string(field.substr(0, field.find('\0')));
    };
    layout_.metadata.bext =
        BroadcastText{text(0, 256), text(256, 32), text(288, 32), text(320, 10), text(330, 8)};
}

/// Sizes that stand for "not known yet". (0x7FFFF000 and 0xFFFFFFDB: common practice of programs
/// that write to pipes; from memory.)
bool is_placeholder(std::uint64_t size) {
    constexpr std::uint64_t known[] = {0,           kNoSize32,   0x7FFF'FFFF,
                                       0x8000'0000, 0x7FFF'F000, 0xFFFF'FFDB};
    return std::find(std::begin(known), std::end(known), size) != std::end(known);
}

void Walker::take_data(std::uint64_t begin, std::uint64_t size) {
    DataChunk data{begin, size, false, 0};
    if (size == kNoSize32 && has_size_64_) data.promised = data_size_64_;
    const std::uint64_t there = reader_.size() > begin ? reader_.size() - begin : 0;
    // Of a length beyond 4 GiB some recorders write the lower 32 bits. Where no chunk begins at
    // that length, and whole rounds of 2^32 bytes lie behind it, they are samples.
    if (!has_size_64_ && !is_placeholder(size) && there >= size + kRound32 &&
        !chunks_fill(begin + padded(size))) {
        data.promised = size + (there - size) / kRound32 * kRound32;
        data.unfinished = true;
        data.after = begin + padded(data.promised);
        data_ = data;
        return;
    }
    // A proper empty data chunk may have other chunks behind it; only otherwise are the bytes
    // samples.
    data.unfinished = is_placeholder(data.promised) && there > 0 &&
                      (data.promised == 0 ? !chunks_fill(begin) : data.promised > there);
    if (data.unfinished) data.promised = there;
    data.after = data.promised > there ? reader_.size() : begin + padded(data.promised);
    data_ = data;
}

/// Whether nothing but chunks stands from here to the end of the file.
bool Walker::chunks_fill(std::uint64_t from) {
    for (int count = 0; count < kMostChunks; ++count) {
        if (from >= reader_.size())
            return from <= reader_.size() + 1;  // a missing pad byte at most
        const std::string_view header = reader_.at(from, 8);
        if (header.size() < 8 || !is_chunk_id(header.substr(0, 4))) return false;
        from += 8 + padded(u32(header.data() + 4));
    }
    return false;
}

/// Whether the file is filled up with zeros to a whole sector, as some recorders do; looks at one
/// page.
bool Walker::is_padding(std::uint64_t from) {
    constexpr std::uint64_t kSector = 512;
    if (reader_.size() % kSector != 0) return false;
    const std::string_view bytes = reader_.at(from, 4096);
    return std::all_of(bytes.begin(), bytes.end(), [](char c) { return c == 0; });
}

double Walker::seconds(std::uint64_t bytes) const {
    const double per_second = static_cast<double>(frame_bytes()) * layout_.sample_rate;
    return per_second > 0 ? static_cast<double>(bytes) / per_second : 0;
}

void Walker::measure_data() {
    const std::uint64_t there = reader_.size() - data_->begin;
    const std::uint64_t bytes = std::min(data_->promised, there);
    layout_.data_begin = data_->begin;
    layout_.frame_bytes = frame_bytes();
    layout_.frames = bytes / frame_bytes();
    const std::uint64_t used = layout_.frames * frame_bytes();
    std::vector<Damage>& damages = layout_.damages;
    if (data_->promised > there) {
        const std::uint64_t lost = data_->promised - used;
        damages.push_back(
            {DamageKind::truncated, reader_.size(), data_->promised - there, seconds(lost)});
        return;
    }
    if (data_->unfinished)
        damages.push_back({DamageKind::header_unfinished, data_->begin - 4, 0, 0});
    if (bytes > used)
        damages.push_back({DamageKind::odd_bytes, data_->begin + used, bytes - used, 0});
    if (stray_begin_ > 0 && !is_padding(stray_begin_)) {
        const std::uint64_t stray = reader_.size() - stray_begin_;
        damages.push_back(
            {DamageKind::odd_bytes, stray_begin_, stray, seconds(stray - stray % frame_bytes())});
    }
}

std::variant<WaveLayout, Unreadable> Walker::walk() {
    layout_.container = reader_.at(0, 4) == "RIFF" ? "WAV" : "RF64";
    take_chunks();
    if (source_.failure())
        return Unreadable{UnreadableKind::io_error,
                          "the disk could not be read at byte " + grouped(source_.failure()->byte) +
                              ": " + std::strerror(source_.failure()->error_number),
                          "copy it again, from another card reader if there is one"};
    if (!has_format_)
        return Unreadable{UnreadableKind::not_audio,
                          "a WAV file with no whole fmt chunk: the header is cut off or broken",
                          "copy it again from the card"};
    if (auto refusal = implausible(layout_.channels, layout_.sample_rate)) return *refusal;
    if (layout_.bits == 0 && (format_tag_ == kPcm || format_tag_ == kFloat))
        return Unreadable{UnreadableKind::implausible, "the header says 0 bits a sample",
                          "the header is broken, or this is no recording; nothing of it was used"};
    if (!data_ || data_->begin >= reader_.size() || data_->promised == 0)
        return Unreadable{UnreadableKind::no_samples, "a header with no samples behind it",
                          "the recorder stopped before it wrote any sound"};
    if (layout_.coding == WaveCoding::other) return layout_;
    measure_data();
    if (layout_.frames == 0)
        return Unreadable{UnreadableKind::no_samples,
                          "a header with less than one sample behind it",
                          "the recorder stopped before it wrote any sound"};
    return layout_;
}

}  // namespace

std::variant<WaveLayout, Unreadable> walk_wave(ByteSource& source) {
    return Walker(source).walk();
}

}  // namespace hearwood
