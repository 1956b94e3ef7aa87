#include "index/kept_sounds.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/error.h"

namespace hearwood {
namespace {

constexpr char kVersion = 1;
constexpr double kLeastDb = -150.5;  // of the byte 0, were it a level
constexpr double kStepsPerDb = 2;
constexpr double kPeakSteps = 100;

void put_number(std::string& bytes, std::uint32_t number) {
    for (; number >= 0x80; number >>= 7) bytes += static_cast<char>(number | 0x80);
    bytes += static_cast<char>(number);
}

char level_byte(float db) {
    if (!(db > -std::numeric_limits<float>::infinity())) return 0;
    const double steps = std::nearbyint((static_cast<double>(db) - kLeastDb) * kStepsPerDb);
    return static_cast<char>(static_cast<unsigned char>(std::clamp(steps, 1.0, 255.0)));
}

/// Takes bytes off the front; never past the end.
class Reader {
  public:
    explicit Reader(std::string_view bytes) : bytes_(bytes) {}

    std::uint32_t byte() {
        if (at_ == bytes_.size())
            throw MachineError("survey.db: a segment's sounds are damaged; run 'hearwood verify'");
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

  private:
    std::string_view bytes_;
    std::size_t at_ = 0;
};

}  // namespace

std::string encode(const SegmentSounds& sounds) {
    std::string bytes;
    bytes += kVersion;
    bytes += static_cast<char>(sounds.listened);
    const std::size_t bands = sounds.background_db.size();
    bytes += static_cast<char>(bands & 0xff);
    bytes += static_cast<char>(bands >> 8);
    for (const float db : sounds.background_db) bytes += level_byte(db);
    put_number(bytes, static_cast<std::uint32_t>(sounds.events.size()));
    std::int32_t before = 0;
    for (const SoundEvent& event : sounds.events) {
        put_number(bytes, static_cast<std::uint32_t>(event.start - before));
        before = event.start;
        put_number(bytes, static_cast<std::uint32_t>(event.duration));
        bytes += static_cast<char>(event.low);
        bytes += static_cast<char>(event.high - event.low);
        const auto peak = static_cast<std::int16_t>(std::clamp(
            std::nearbyint(static_cast<double>(event.peak_db) * kPeakSteps), -32768.0, 32767.0));
        bytes += static_cast<char>(peak & 0xff);
        bytes += static_cast<char>((peak >> 8) & 0xff);
    }
    return bytes;
}

SegmentSounds decode_sounds(std::string_view bytes) {
    Reader in(bytes);
    if (in.byte() != kVersion)
        throw MachineError("survey.db: a segment's sounds are of an unknown form");
    SegmentSounds sounds;
    sounds.listened = in.byte() != 0;
    sounds.background_db.resize(in.two());
    for (float& db : sounds.background_db) {
        const std::uint32_t level = in.byte();
        db = level == 0 ? -std::numeric_limits<float>::infinity()
                        : static_cast<float>(kLeastDb + level / kStepsPerDb);
    }
    const std::uint32_t count = in.number();
    std::int32_t start = 0;
    for (std::uint32_t i = 0; i < count; ++i) {
        SoundEvent event;
        start += static_cast<std::int32_t>(in.number());
        event.start = start;
        event.duration = static_cast<std::int32_t>(in.number());
        event.low = static_cast<std::int16_t>(in.byte());
        event.high = static_cast<std::int16_t>(event.low + static_cast<std::int16_t>(in.byte()));
        event.peak_db = static_cast<float>(static_cast<std::int16_t>(in.two()) / kPeakSteps);
        sounds.events.push_back(event);
    }
    return sounds;
}

}  // namespace hearwood
