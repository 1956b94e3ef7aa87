#include "aggregate/known_recordings.h"

#include <fmt/core.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <tuple>

#include "base/text.h"
#include "measure/first_hours.h"
#include "statistics/quantile.h"
#include "survey/clock.h"

namespace hearwood {
namespace {

using std::chrono::days;
using std::chrono::milliseconds;

// Without dates in the sheet: from the middle of the deployment's own recordings.
constexpr days kPlausibleAroundMiddle{365};
// Names carry whole seconds and recorders round them either way.
constexpr milliseconds kOverlapTolerance{2000};

std::string base_name(const std::string& path) {
    return path.substr(path.rfind('/') + 1);
}

void add_note(KnownRecording& recording, const std::string& sentence) {
    if (!recording.note.empty()) recording.note += "; ";
    recording.note += sentence;
}

void mark(KnownRecording& recording, Oddity oddity, const std::string& sentence) {
    recording.oddities.push_back(oddity);
    add_note(recording, sentence);
}

Instant end_of(const KnownRecording& recording) {
    return *recording.start + to_milliseconds(recording.duration_s());
}

/// Dates that the sheet gives, or one of the two.
struct Dates {
    std::optional<Instant> begin, end;

    bool far_before(Instant start) const { return begin && start < *begin - kPlausibleAroundDates; }
    bool far_after(Instant start) const { return end && start > *end + kPlausibleAroundDates; }
};

/// Which starts are too far from the deployment for its clock to have been right.
struct Plausible {
    Dates dates;
    std::optional<Instant> middle;  ///< of the recordings whose start the dates allow

    bool has(Instant start) const {
        const bool before = dates.far_before(start) ||
                            (!dates.begin && middle && start < *middle - kPlausibleAroundMiddle);
        const bool after = dates.far_after(start) ||
                           (!dates.end && middle && start > *middle + kPlausibleAroundMiddle);
        return !before && !after;
    }
};

/// By true start, those without one last, then by path.
bool earlier(const KnownRecording& a, const KnownRecording& b) {
    if (a.start.has_value() != b.start.has_value()) return a.start.has_value();
    if (a.start != b.start) return a.start < b.start;
    return a.row.path < b.row.path;
}

/// Whether some of it lies between the dates.
bool lies_inside(const KnownRecording& r, const Dates& dates) {
    return !(dates.begin && end_of(r) <= *dates.begin) && !(dates.end && *r.start >= *dates.end);
}

/// The middle start of the deployment's recordings that the sheet's dates allow: robust against a
/// few others that lost their time.
std::optional<Instant> middle_start(const std::vector<KnownRecording>& recordings,
                                    const Dates& dates) {
    std::vector<Instant> starts;
    for (const KnownRecording& r : recordings)
        if (r.start && !dates.far_before(*r.start) && !dates.far_after(*r.start))
            starts.push_back(*r.start);
    if (starts.empty()) return {};
    return upper_median(std::move(starts));
}

void mark_clock_resets(std::vector<KnownRecording>& recordings, const Dates& dates) {
    const Plausible plausible{dates, middle_start(recordings, dates)};
    for (KnownRecording& r : recordings) {
        if (!r.start || plausible.has(*r.start)) continue;
        mark(r, Oddity::clock_reset,
             "its start is far from the deployment's dates: the recorder's clock lost its time");
        r.inside = false;
    }
}

/// The value that most recordings have; the smaller one where two are as common.
int commonest(const std::vector<KnownRecording>& recordings, int RecordingRow::*member) {
    std::map<int, int> counts;
    for (const KnownRecording& r : recordings)
        if (r.row.*member > 0) ++counts[r.row.*member];
    int best = 0, most = 0;
    for (const auto& [value, count] : counts)
        if (count > most) std::tie(best, most) = std::tie(value, count);
    return best;
}

void mark_odd_shapes(std::vector<KnownRecording>& recordings) {
    const int rate = commonest(recordings, &RecordingRow::sample_rate);
    const int channels = commonest(recordings, &RecordingRow::channels);
    for (KnownRecording& r : recordings) {
        const bool measured_alike = r.measured_rate != r.row.sample_rate;
        if (r.row.sample_rate > 0 && r.row.sample_rate != rate && !measured_alike)
            mark(r, Oddity::wrong_rate,
                 fmt::format("{} Hz, while most of the deployment's recordings have {} Hz",
                             r.row.sample_rate, rate));
        if (r.row.channels > 0 && r.row.channels != channels)
            mark(r, Oddity::wrong_channels,
                 fmt::format("{}, while most of the deployment's recordings have {}",
                             counted(r.row.channels, "channel"), channels));
    }
}

/// Copies are told by content where it was hashed, else by the same name, start, size and length:
/// two recordings of one recorder never share all four. Silence is like silence at any time.
void mark_duplicates(std::vector<KnownRecording>& recordings,
                     const std::function<bool(const RecordingRow&)>& silent) {
    std::vector<KnownRecording*> order;
    for (KnownRecording& r : recordings)
        if (r.row.state != RecordingState::unreadable) order.push_back(&r);

    using Shape = std::tuple<std::string, Instant, std::int64_t, std::int64_t>;
    using Moment = std::pair<std::string, std::optional<Instant>>;
    std::map<std::string, const KnownRecording*> by_content;
    std::map<Moment, const KnownRecording*> by_moment;
    std::map<Shape, const KnownRecording*> by_shape;
    for (KnownRecording* r : order) {
        const KnownRecording* original = nullptr;
        if (!r->row.sha256.empty()) {
            const auto [place, is_new] = by_content.emplace(r->row.sha256, r);
            const auto [twin, other_time] = by_moment.emplace(Moment{r->row.sha256, r->start}, r);
            if (!other_time)
                original = twin->second;
            else if (!is_new && !(r->start && silent && silent(r->row)))
                original = place->second;
        }
        if (r->start) {
            const auto [place, is_new] = by_shape.emplace(
                Shape{base_name(r->row.path), *r->start, r->row.size, r->row.frames}, r);
            const bool may_be_same = r->row.sha256.empty() || place->second->row.sha256.empty();
            if (!is_new && !original && may_be_same) original = place->second;
        }
        if (original) mark(*r, Oddity::duplicate, "the same recording as " + original->row.path);
    }
}

void mark_overlaps(std::vector<KnownRecording>& recordings) {
    const KnownRecording* latest = nullptr;
    for (KnownRecording& r : recordings) {
        if (!r.counts() || r.duration_s() <= 0) continue;
        if (latest && *r.start + kOverlapTolerance < end_of(*latest))
            mark(r, Oddity::overlapping,
                 fmt::format("begins {:.0f} s before {} ends",
                             std::chrono::duration<double>(end_of(*latest) - *r.start).count(),
                             latest->row.path));
        if (!latest || end_of(r) > end_of(*latest)) latest = &r;
    }
}

/// What the recorder's clock showed when the recording began, with none of its error taken off.
Instant shown(const KnownRecording& recording) {
    return *recording.start - to_milliseconds(recording.correction_s);
}

/// Recordings that one true start holds for: the one it names and those after it by the recorder's
/// own clock, up to the next that is named; what no named one leads is led by the earliest.
struct Led {
    const TrueStart* truth = nullptr;
    const KnownRecording* first = nullptr;  ///< the recording that began at that instant
};

Led leader_of(const KnownRecording& recording, const std::vector<Led>& named,
              const Plausible& plausible) {
    Led leader;
    for (const Led& led : named) {
        const bool after = shown(recording) >= shown(*led.first);
        // A clock that fell back to its first day shows the recordings before the fall as later.
        const bool before_the_fall =
            !plausible.has(*led.first->start) && plausible.has(*recording.start);
        if (!after || before_the_fall) continue;
        if (!leader.first || shown(*led.first) > shown(*leader.first)) leader = led;
    }
    return leader;
}

void set_clock(const Placer& placer, std::size_t deployment, const Dates& dates,
               std::vector<KnownRecording>& recordings) {
    const std::vector<TrueStart>& truths = placer.true_starts(deployment);
    if (truths.empty()) return;
    const Plausible plausible{dates, middle_start(recordings, dates)};
    const std::vector<KnownRecording> before = recordings;
    std::vector<Led> named;
    Led rest;
    for (const TrueStart& truth : truths) {
        if (truth.recording.empty()) rest.truth = &truth;
        for (const KnownRecording& r : before)
            if (r.start && r.row.path == truth.recording) named.push_back({&truth, &r});
    }
    std::vector<Led> leaders;
    for (const KnownRecording& r : before) {
        leaders.push_back(r.start ? leader_of(r, named, plausible) : Led{});
        const bool earliest = !rest.first || (r.start && shown(r) < shown(*rest.first));
        if (r.start && !leaders.back().first && earliest) rest.first = &r;
    }
    for (std::size_t i = 0; i < recordings.size(); ++i) {
        const Led leader = leaders[i].first ? leaders[i] : rest;
        if (!before[i].start || !leader.truth || !leader.first) continue;
        KnownRecording& r = recordings[i];
        r.start = leader.truth->instant + (shown(before[i]) - shown(*leader.first));
        r.correction_s = std::chrono::duration<double>(*r.start - shown(before[i])).count();
        r.inside = lies_inside(r, dates);
        r.clock_decision = leader.truth->decision;
        add_note(r, "its start is set right by a decision");
    }
}

KnownRecording place(const Placer& placer, std::size_t deployment, RecordingRow row) {
    KnownRecording known;
    known.note = row.reason;
    known.row = std::move(row);
    const int decided = placer.decided_rate(deployment);
    known.measured_rate = decided > 0 ? decided : known.row.sample_rate;
    if (known.row.start) {
        const auto reading =
            placer.recording(deployment, *known.row.start, known.row.start_offset_s);
        known.start = reading.instant;
        known.correction_s = reading.correction_s;
        known.inside = lies_inside(known, {placer.begins(deployment), placer.ends(deployment)});
    }
    if (known.row.gone) mark(known, Oddity::gone, "no longer in its deployment's folder");
    return known;
}

FindingCode code_of(Oddity oddity) {
    switch (oddity) {
        case Oddity::clock_reset:
            return FindingCode::clock_reset;
        case Oddity::duplicate:
            return FindingCode::duplicate;
        case Oddity::overlapping:
            return FindingCode::overlap;
        case Oddity::wrong_rate:
            return FindingCode::other_rate;
        case Oddity::wrong_channels:
            return FindingCode::other_channels;
        case Oddity::gone:
            return FindingCode::gone;
    }
    return {};
}

/// The worst that is known of it first, as KnownRecording::state() has it.
FindingCode code_of(const KnownRecording& recording) {
    if (recording.row.state == RecordingState::unreadable) return FindingCode::unreadable;
    if (recording.row.state == RecordingState::no_start_time) return FindingCode::no_start_time;
    if (recording.has(Oddity::duplicate)) return FindingCode::duplicate;
    if (recording.has(Oddity::clock_reset)) return FindingCode::clock_reset;
    if (recording.start && !recording.inside) return FindingCode::outside;
    if (recording.row.state == RecordingState::damaged) return FindingCode::damaged;
    return code_of(recording.oddities.front());
}

}  // namespace

const char* name_of(Oddity oddity) {
    switch (oddity) {
        case Oddity::clock_reset:
            return "clock reset";
        case Oddity::duplicate:
            return "duplicate";
        case Oddity::overlapping:
            return "overlapping";
        case Oddity::wrong_rate:
            return "other sample rate";
        case Oddity::wrong_channels:
            return "other channels";
        case Oddity::gone:
            return "gone";
    }
    return "";
}

bool KnownRecording::has(Oddity oddity) const {
    return std::find(oddities.begin(), oddities.end(), oddity) != oddities.end();
}

bool KnownRecording::counts() const {
    return start && row.state != RecordingState::unreadable &&
           row.state != RecordingState::no_start_time && !has(Oddity::duplicate) && !row.gone;
}

std::string KnownRecording::state() const {
    if (row.gone) return "gone";
    if (row.state == RecordingState::unreadable || row.state == RecordingState::no_start_time)
        return std::string(word(row.state));
    if (has(Oddity::duplicate)) return "duplicate";
    if (has(Oddity::clock_reset)) return "clock reset";
    if (start && !inside) return "outside deployment";
    return std::string(word(row.state));
}

bool KnownRecording::unusable() const {
    if (row.gone) return false;
    return row.state == RecordingState::unreadable || row.state == RecordingState::no_start_time ||
           row.state == RecordingState::damaged || has(Oddity::duplicate) ||
           has(Oddity::clock_reset);
}

std::optional<Finding> finding_about(const KnownRecording& recording) {
    const bool nothing_odd = recording.inside && recording.oddities.empty();
    if (recording.row.gone || (!recording.unusable() && nothing_odd)) return std::nullopt;
    return Finding{recording.unusable() ? Severity::serious : Severity::note, code_of(recording),
                   Subject::recording(recording.row.path, recording.row.deployment),
                   as_sentence(recording.note), ""};
}

std::vector<KnownRecording> examine_recordings(
    const Placer& placer, std::size_t deployment, std::vector<RecordingRow> rows,
    const std::function<bool(const RecordingRow&)>& silent) {
    // What is gone says nothing about what is there.
    std::vector<KnownRecording> recordings, gone;
    recordings.reserve(rows.size());
    for (RecordingRow& row : rows) {
        KnownRecording known = place(placer, deployment, std::move(row));
        (known.row.gone ? gone : recordings).push_back(std::move(known));
    }
    const Dates dates{placer.begins(deployment), placer.ends(deployment)};
    set_clock(placer, deployment, dates, recordings);
    std::sort(recordings.begin(), recordings.end(), earlier);
    mark_clock_resets(recordings, dates);
    mark_odd_shapes(recordings);
    mark_duplicates(recordings, silent);
    mark_overlaps(recordings);
    std::move(gone.begin(), gone.end(), std::back_inserter(recordings));
    std::sort(recordings.begin(), recordings.end(), earlier);
    return recordings;
}

bool tells(std::string_view spectrum) {
    // A version byte, two bytes a bin of power, one of share.
    const std::size_t bins = spectrum.size() / 3;
    if (bins < 3) return false;
    // Bin 0 holds the offset alone, so it may differ from the rest.
    const std::string_view first = spectrum.substr(1 + 2, 2);
    for (std::size_t bin = 2; bin + 1 < bins; ++bin)
        if (spectrum.substr(1 + 2 * bin, 2) != first) return true;
    return false;
}

bool is_silent(const Store& store, const RecordingRow& row) {
    bool measured = false, heard = false;
    store.for_each_spectrum_of(row.id, [&](int, int, std::string_view spectrum) {
        measured = true;
        heard = heard || tells(spectrum);
    });
    if (measured) return !heard;
    const auto first = kept_first_hours(store, row.deployment);
    return first && first->segments > 0 && first->dead == first->segments;
}

}  // namespace hearwood
