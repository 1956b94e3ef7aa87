#include "aggregate/derived_values.h"

#include <algorithm>

#include "base/missing.h"

namespace hearwood {
namespace {

constexpr std::size_t kSoloValues = 2;  // choir_khz, solo_events

}  // namespace

DerivedValues::DerivedValues(const Survey& survey, const Store& store,
                             const JudgedSegments& segments)
    : survey_(survey),
      store_(store),
      of_sites_(sounds_of_sites(store, segments)),
      terms_(
          even_terms(survey, of_sites_, store.settings()->hash, read_kept_trials(survey, store))),
      sounds_(store) {
    for (const auto& [place, seconds] : of_sites_.choirs)
        choirs_[place] = seconds.choirs(survey.activity.choir_share);
}

void DerivedValues::begin_recording(const KnownRecording& recording) {
    sounds_.load(recording);
    even_.clear();
    if (!survey_.activity.even) return;
    store_.for_each_even_of(recording.row.id, [&](const EvenRow& row) {
        even_.emplace_hint(even_.end(), std::pair(row.channel, row.segment), row);
    });
}

std::span<const double> even_part(std::span<const double> derived) {
    return derived.subspan(kSoloValues);
}

void DerivedValues::segment(const JudgedSegment& segment) {
    values_.assign(kSoloValues + (survey_.activity.even ? kEvenIndices.size() : 0), kMissing);
    if (!segment.averaged()) return;
    read_solo(segment);
    if (survey_.activity.even) read_even(segment);
}

void DerivedValues::read_solo(const JudgedSegment& segment) {
    const SegmentSounds* sounds = sounds_.find(segment);
    const int window = segment.place.part.window;
    const auto choirs = choirs_.find({segment.site, window < 0 ? SiteSounds::kWholeDay : window});
    if (!sounds || !sounds->listened || choirs == choirs_.end()) return;
    values_[0] = width_khz(choirs->second);
    values_[1] = events_outside(choirs->second, *sounds,
                                EventGrid(segment.recording->measured_rate), segment.duration_s());
}

void DerivedValues::read_even(const JudgedSegment& segment) {
    const auto place = terms_.find(segment);
    if (!place) return;
    const auto [known, is_new] =
        fingerprints_.try_emplace({segment.site, segment.place.part.window, segment.deployment});
    if (is_new) known->second = terms_.fingerprint(*place, segment.deployment);
    const auto found = even_.find({segment.row->channel, segment.row->segment});
    if (found != even_.end() && found->second.terms == known->second)
        std::copy(found->second.values.begin(), found->second.values.end(),
                  values_.begin() + kSoloValues);
    else
        ++old_even_;
}

}  // namespace hearwood
