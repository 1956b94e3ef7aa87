#include "aggregate/site_sounds.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "index/kept_sounds.h"

namespace hearwood {
namespace {

// As the database keeps levels (index/kept_sounds.h): level b stands for kLeastDb + b / 2 dB.
constexpr double kLeastDb = -150.5, kStepsPerDb = 2;

}  // namespace

void RecordingSounds::load(const KnownRecording& recording) {
    sounds_.clear();
    store_.for_each_sounds_of(
        recording.row.id, [&](int channel, int segment, std::string_view bytes) {
            sounds_.emplace_hint(sounds_.end(), std::pair(channel, segment), decode_sounds(bytes));
        });
}

const SegmentSounds* RecordingSounds::find(const JudgedSegment& segment) const {
    const auto found = sounds_.find({segment.row->channel, segment.row->segment});
    return found == sounds_.end() ? nullptr : &found->second;
}

void BackgroundLevels::add(const std::vector<float>& background_db) {
    if (counts_.size() < background_db.size()) counts_.resize(background_db.size());
    for (std::size_t band = 0; band < background_db.size(); ++band) {
        const auto db = static_cast<double>(background_db[band]);
        const double level = std::isinf(db) ? 0 : std::nearbyint((db - kLeastDb) * kStepsPerDb);
        ++counts_[band][static_cast<std::size_t>(std::clamp(level, 0.0, kLevels - 1.0))];
    }
}

std::vector<double> BackgroundLevels::medians(
    const std::vector<std::pair<const BackgroundLevels*, double>>& parts) {
    std::size_t bands = 0;
    for (const auto& [levels, offset] : parts) bands = std::max(bands, levels->bands());
    std::vector<double> medians;
    for (std::size_t band = 0; band < bands; ++band) {
        std::vector<std::pair<double, std::uint32_t>> counted;
        std::uint64_t total = 0;
        for (const auto& [levels, offset] : parts) {
            if (band >= levels->bands()) continue;
            for (int level = 0; level < kLevels; ++level) {
                const std::uint32_t count = levels->counts_[band][static_cast<std::size_t>(level)];
                if (count == 0) continue;
                const double db = level == 0 ? -std::numeric_limits<double>::infinity()
                                             : kLeastDb + level / kStepsPerDb + offset;
                counted.emplace_back(db, count);
                total += count;
            }
        }
        std::sort(counted.begin(), counted.end());
        const auto of_rank = [&](std::uint64_t rank) {
            for (const auto& [db, count] : counted) {
                if (rank < count) return db;
                rank -= count;
            }
            return -std::numeric_limits<double>::infinity();
        };
        const double low =
            total == 0 ? -std::numeric_limits<double>::infinity() : of_rank((total - 1) / 2);
        const double high = total == 0 ? low : of_rank(total / 2);
        medians.push_back(low == high ? low : (low + high) / 2);
    }
    return medians;
}

void SiteSounds::segment(const JudgedSegment& segment) {
    if (!segment.averaged()) return;
    const SegmentSounds* sounds = sounds_.find(segment);
    if (!sounds) return;
    const int rate = segment.recording->measured_rate;
    rates[segment.site].insert(rate);
    const int window = segment.place.part.window;
    if (sounds->listened) {
        const EventGrid grid(rate);
        if (window >= 0) choirs[{segment.site, window}].add(*sounds, grid, segment.duration_s());
        choirs[{segment.site, kWholeDay}].add(*sounds, grid, segment.duration_s());
    }
    site_backgrounds[segment.site].add(sounds->background_db);
    if (window >= 0)
        backgrounds[{segment.site, window}][segment.deployment].add(sounds->background_db);
}

SiteSounds sounds_of_sites(const Store& store, const JudgedSegments& segments) {
    SiteSounds sounds(store);
    SegmentVisitor* const visitors[] = {&sounds};
    segments.visit(visitors);
    return sounds;
}

}  // namespace hearwood
