// The sound events of a survey, one a row, from what the database keeps of them: nothing is
// measured again.
#pragma once

#include <cstdint>
#include <cstdio>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "aggregate/judged_segments.h"
#include "index/sound_event.h"
#include "store/store.h"

namespace hearwood {

/// Which events are wanted: all of them where nothing is said.
struct EventChoice {
    std::optional<std::size_t> site;
    std::optional<Date> first, last;  ///< local dates of the segments' midpoints, both included
    /// Events that reach into [low, high).
    double low_hz = 0, high_hz = std::numeric_limits<double>::infinity();
};

/// Writes CSV to a stream as the segments pass: in the order of segments.csv (deployment, start of
/// the recording, channel, segment), within a segment by start, then frequency. Memory: the
/// segments of one recording.
class EventList : public SegmentVisitor {
  public:
    EventList(const Survey& survey, const Store& store, const Zone& zone, EventChoice choice,
              std::FILE* out);

    void begin_recording(const KnownRecording&) override { segments_.clear(); }
    void segment(const JudgedSegment& segment) override;
    void end_recording(const KnownRecording& recording) override;
    /// Errors: MachineError when the stream does not take what is written.
    void finish();
    std::int64_t events() const { return events_; }

  private:
    struct Segment {
        std::size_t deployment, site;
        Instant start;
        bool kept;
    };
    void write(const Segment& segment, const KnownRecording& recording, int channel, int number,
               const EventGrid& grid, const SoundEvent& event);
    void drain();

    const Survey& survey_;
    const Store& store_;
    const Zone& zone_;
    EventChoice choice_;
    std::FILE* out_;
    std::string buffer_;
    std::map<std::pair<int, int>, Segment> segments_;  ///< of the recording, by channel, number
    std::int64_t events_ = 0;
};

}  // namespace hearwood
