#include "report/segment_gatherer.h"

#include "base/missing.h"

namespace hearwood {

void SegmentGatherer::begin_recording(const KnownRecording& recording) {
    recordings.push_back(
        {recording.row.id, recording.row.path, recording.row.sample_rate, recording.measured_rate});
}

void SegmentGatherer::segment(const JudgedSegment& segment) {
    if (segment.judgement.reasons.has(Reason::outside)) return;
    SegmentPlace place;
    place.recording = static_cast<std::uint32_t>(recordings.size() - 1);
    place.segment = static_cast<std::uint32_t>(segment.row->segment);
    place.channel = static_cast<std::uint16_t>(segment.row->channel);
    place.window = static_cast<std::int16_t>(segment.place.part.window);
    place.kept = segment.judgement.kept();
    place.averaged = segment.averaged();
    place.flagged = !segment.judgement.flags.empty();
    const DayPart& part = segment.place.part;
    const auto local = segment.place.start.time_since_epoch() + part.offset;
    const double from =
        std::chrono::duration<double, std::ratio<60>>(local - part.date.time_since_epoch()).count();
    place.from_min = static_cast<float>(from);
    place.to_min = static_cast<float>(from + segment.duration_s() / 60);
    place.value =
        value_column_ < 0 ? kMissing : segment.row->values[static_cast<std::size_t>(value_column_)];
    days[{segment.site, part.date}].push_back(place);
}

}  // namespace hearwood
