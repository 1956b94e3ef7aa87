// What the kept segments' sounds come to at each site and window: choirs, and the background level
// of every band. One pass over what the database keeps of events.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <tuple>
#include <utility>
#include <vector>

#include "aggregate/choirs.h"
#include "aggregate/judged_segments.h"
#include "index/sound_event.h"
#include "store/store.h"

namespace hearwood {

/// The kept sounds of one recording, looked up by segment.
class RecordingSounds {
  public:
    explicit RecordingSounds(const Store& store) : store_(store) {}
    void load(const KnownRecording& recording);
    /// Nothing where none are kept.
    const SegmentSounds* find(const JudgedSegment& segment) const;

  private:
    const Store& store_;
    std::map<std::pair<int, int>, SegmentSounds> sounds_;  ///< by channel, segment
};

/// How often each level of the background was met, band by band, in half decibels.
class BackgroundLevels {
  public:
    void add(const std::vector<float>& background_db);
    std::size_t bands() const { return counts_.size(); }
    /// Median over all that was added to several of these, each with an offset in dB: of an even
    /// number the mean of the middle two. -infinity where most have no background.
    static std::vector<double> medians(
        const std::vector<std::pair<const BackgroundLevels*, double>>& parts);

  private:
    static constexpr int kLevels = 256;
    std::vector<std::array<std::uint32_t, kLevels>> counts_;  ///< [band][level], 0: none
};

class SiteSounds : public SegmentVisitor {
  public:
    explicit SiteSounds(const Store& store) : sounds_(store) {}

    void begin_recording(const KnownRecording& recording) override { sounds_.load(recording); }
    void segment(const JudgedSegment& segment) override;

    static constexpr int kWholeDay = -1;
    struct Place {
        std::size_t site;
        int window;  ///< kWholeDay: all segments of the site
        auto operator<=>(const Place&) const = default;
    };
    /// Of segments in which events could be listened for.
    std::map<Place, ChoirSeconds> choirs;
    /// By window and site, then deployment.
    std::map<Place, std::map<std::size_t, BackgroundLevels>> backgrounds;
    /// Of each site's whole day, as recorded.
    std::map<std::size_t, BackgroundLevels> site_backgrounds;
    std::map<std::size_t, std::set<int>> rates;  ///< of each site, Hz

  private:
    RecordingSounds sounds_;
};

/// Goes through the segments once.
SiteSounds sounds_of_sites(const Store& store, const JudgedSegments& segments);

}  // namespace hearwood
