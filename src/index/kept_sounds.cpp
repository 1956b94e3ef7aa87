#include "index/kept_sounds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

#include "base/error.h"
#include "index/packed_numbers.h"

namespace hearwood {
namespace {

constexpr char kVersion = 2;
constexpr std::uint32_t kFirstVersion = 1;
constexpr double kLeastDb = -150.5;  // of the byte 0, were it a level
constexpr double kStepsPerDb = 2;
constexpr double kPeakSteps = 100;

void put_number(std::string& bytes, std::uint32_t number) {
    for (; number >= 0x80; number >>= 7) bytes += static_cast<char>(number | 0x80);
    bytes += static_cast<char>(number);
}

std::int32_t level_code(float db) {
    if (!(db > -std::numeric_limits<float>::infinity())) return 0;
    const double steps = std::nearbyint((static_cast<double>(db) - kLeastDb) * kStepsPerDb);
    return static_cast<std::int32_t>(std::clamp(steps, 1.0, 255.0));
}

float level_of(std::int32_t code) {
    return code == 0 ? -std::numeric_limits<float>::infinity()
                     : static_cast<float>(kLeastDb + code / kStepsPerDb);
}

std::int32_t peak_code(float db) {
    return static_cast<std::int32_t>(
        std::clamp(std::nearbyint(static_cast<double>(db) * kPeakSteps), -32768.0, 32767.0));
}

float peak_of(std::int32_t code) {
    return static_cast<float>(code / kPeakSteps);
}

[[noreturn]] void tell_damage() {
    throw MachineError("survey.db: a segment's sounds are damaged; run 'hearwood verify'");
}

struct Columns {
    std::vector<std::int32_t> start, duration, low, extent, peak;  ///< extent: highest less lowest
};
constexpr std::uint32_t kColumns = 5;

/// Takes bytes off the front; never past the end.
class Reader {
  public:
    explicit Reader(std::string_view bytes) : bytes_(bytes) {}

    std::uint32_t byte() {
        if (at_ == bytes_.size()) tell_damage();
        return static_cast<unsigned char>(bytes_[at_++]);
    }
    std::uint32_t two() {
        const std::uint32_t low = byte();
        return low | byte() << 8;
    }
    std::uint32_t number() {
        std::uint32_t value = 0;
        for (int shift = 0; shift < 35; shift += 7) {
            const std::uint32_t b = byte();
            value |= (b & 0x7f) << shift;
            if (b < 0x80) break;
        }
        return value;
    }

    std::string_view rest() const { return bytes_.substr(at_); }

  private:
    std::string_view bytes_;
    std::size_t at_ = 0;
};

/// In the order in which they are written.
template <typename Take>
void each_column(Take&& take) {
    take(&Columns::start);
    take(&Columns::duration);
    take(&Columns::low);
    take(&Columns::extent);
    take(&Columns::peak);
}

SegmentSounds decode_first(Reader& in) {
    SegmentSounds sounds;
    sounds.listened = in.byte() != 0;
    sounds.background_db.resize(in.two());
    for (float& db : sounds.background_db) db = level_of(static_cast<std::int32_t>(in.byte()));
    const std::uint32_t count = in.number();
    std::int32_t start = 0;
    for (std::uint32_t i = 0; i < count; ++i) {
        SoundEvent event;
        start += static_cast<std::int32_t>(in.number());
        event.start = start;
        event.duration = static_cast<std::int32_t>(in.number());
        event.low = static_cast<std::int16_t>(in.byte());
        event.high = static_cast<std::int16_t>(event.low + static_cast<std::int16_t>(in.byte()));
        event.peak_db = peak_of(static_cast<std::int16_t>(in.two()));
        sounds.events.push_back(event);
    }
    return sounds;
}

void pack_background(NumberPacker& out, const SegmentSounds& sounds) {
    if (sounds.background_db.empty()) return;
    std::vector<std::int32_t> steps;
    std::int32_t before = 0;
    for (const float db : sounds.background_db) {
        const std::int32_t code = level_code(db);
        steps.push_back(code - before);
        before = code;
    }
    out.column(steps);
}

void pack_events(NumberPacker& out, const SegmentSounds& sounds) {
    if (sounds.events.empty()) return;
    Columns columns;
    std::int32_t before = 0;
    for (const SoundEvent& event : sounds.events) {
        columns.start.push_back(event.start - before);
        before = event.start;
        columns.duration.push_back(event.duration);
        columns.low.push_back(event.low);
        columns.extent.push_back(event.high - event.low);
        columns.peak.push_back(peak_code(event.peak_db));
    }
    each_column([&](auto column) { out.column(columns.*column); });
}

void unpack_background(NumberUnpacker& in, std::uint32_t bands, SegmentSounds& sounds) {
    if (bands == 0) return;
    std::vector<std::int32_t> steps;
    in.column(bands, steps);
    std::int32_t code = 0;
    for (const std::int32_t step : steps) {
        code += step;
        sounds.background_db.push_back(level_of(code));
    }
}

void unpack_events(NumberUnpacker& in, std::uint32_t count, SegmentSounds& sounds) {
    if (count == 0) return;
    // An event takes a bit of each column at least.
    if (count > in.left() / kColumns) tell_damage();
    Columns columns;
    each_column([&](auto column) { in.column(count, columns.*column); });
    std::int64_t start = 0;
    for (std::uint32_t i = 0; i < count; ++i) {
        start += columns.start[i];
        const std::int32_t low = columns.low[i];
        sounds.events.push_back(
            {static_cast<std::int32_t>(start), columns.duration[i], static_cast<std::int16_t>(low),
             static_cast<std::int16_t>(low + columns.extent[i]), peak_of(columns.peak[i])});
    }
}

}  // namespace

std::string encode(const SegmentSounds& sounds) {
    std::string bytes;
    bytes += kVersion;
    bytes += static_cast<char>(sounds.listened);
    const std::size_t bands = sounds.background_db.size();
    bytes += static_cast<char>(bands & 0xff);
    bytes += static_cast<char>(bands >> 8);
    put_number(bytes, static_cast<std::uint32_t>(sounds.events.size()));
    NumberPacker out(bytes);
    pack_background(out, sounds);
    pack_events(out, sounds);
    out.finish();
    return bytes;
}

SegmentSounds decode_sounds(std::string_view bytes) {
    Reader in(bytes);
    const std::uint32_t version = in.byte();
    if (version == kFirstVersion) return decode_first(in);
    if (version != kVersion)
        throw MachineError("survey.db: a segment's sounds are of an unknown form");
    SegmentSounds sounds;
    sounds.listened = in.byte() != 0;
    const std::uint32_t bands = in.two(), count = in.number();
    try {
        NumberUnpacker columns(in.rest());
        unpack_background(columns, bands, sounds);
        unpack_events(columns, count, sounds);
    } catch (const std::out_of_range&) {
        tell_damage();
    }
    return sounds;
}

}  // namespace hearwood
