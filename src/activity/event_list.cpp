#include "activity/event_list.h"

#include <cerrno>
#include <cmath>
#include <cstring>

#include "base/csv_cell.h"
#include "base/error.h"
#include "base/text.h"
#include "index/kept_sounds.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

constexpr std::size_t kDrainBytes = 1 << 16;

constexpr const char* kHeader =
    "site,deployment,file,segment,start,duration_s,low_hz,high_hz,peak_dbfs,channel,kept\n";

/// As kept: in hundredths of a decibel.
double rounded_peak(const SoundEvent& event) {
    return std::nearbyint(static_cast<double>(event.peak_db) * 100) / 100;
}

}  // namespace

EventList::EventList(const Survey& survey, const Store& store, const Zone& zone, EventChoice choice,
                     std::FILE* out)
    : survey_(survey),
      store_(store),
      zone_(zone),
      choice_(std::move(choice)),
      out_(out),
      buffer_(kHeader) {}

void EventList::segment(const JudgedSegment& segment) {
    const Date date = segment.place.part.date;
    if ((choice_.site && *choice_.site != segment.site) ||
        (choice_.first && date < *choice_.first) || (choice_.last && date > *choice_.last))
        return;
    segments_.emplace(
        std::pair(segment.row->channel, segment.row->segment),
        Segment{segment.deployment, segment.site, segment.place.start, segment.judgement.kept()});
}

void EventList::end_recording(const KnownRecording& recording) {
    if (segments_.empty()) return;
    const EventGrid grid(recording.measured_rate);
    store_.for_each_sounds_of(recording.row.id,
                              [&](int channel, int number, std::string_view bytes) {
                                  const auto found = segments_.find({channel, number});
                                  if (found == segments_.end()) return;
                                  for (const SoundEvent& event : decode_sounds(bytes).events) {
                                      if (grid.edge_hz(event.low) >= choice_.high_hz ||
                                          grid.edge_hz(event.high + 1) <= choice_.low_hz)
                                          continue;
                                      write(found->second, recording, channel, number, grid, event);
                                  }
                              });
}

void EventList::write(const Segment& segment, const KnownRecording& recording, int channel,
                      int number, const EventGrid& grid, const SoundEvent& event) {
    const auto next = [&] { buffer_ += ','; };
    append_csv_text(buffer_, survey_.sites[segment.site].name);
    next();
    append_csv_text(buffer_, survey_.deployments[segment.deployment].name);
    next();
    append_csv_text(buffer_, recording.row.path);
    next();
    buffer_ += std::to_string(number);
    next();
    buffer_ += format_iso(segment.start + to_milliseconds(event.start * grid.frame_s()), zone_);
    for (const double value : {event.duration * grid.frame_s(), grid.edge_hz(event.low),
                               grid.edge_hz(event.high + 1), rounded_peak(event)}) {
        next();
        buffer_ += format_number(value);
    }
    next();
    buffer_ += std::to_string(channel);
    buffer_ += segment.kept ? ",1\n" : ",0\n";
    ++events_;
    if (buffer_.size() >= kDrainBytes) drain();
}

void EventList::drain() {
    if (std::fwrite(buffer_.data(), 1, buffer_.size(), out_) != buffer_.size())
        throw MachineError(std::string("the events cannot be written: ") + std::strerror(errno));
    buffer_.clear();
}

void EventList::finish() {
    drain();
    if (std::fflush(out_) != 0)
        throw MachineError(std::string("the events cannot be written: ") + std::strerror(errno));
}

}  // namespace hearwood
