#include "aggregate/judged_segments.h"

#include <algorithm>
#include <map>

#include "aggregate/decided.h"
#include "aggregate/known_recordings.h"
#include "base/interrupt.h"
#include "base/missing.h"
#include "measure/measure.h"
#include "store/forgotten.h"

namespace hearwood {
namespace {

/// Where recordings were silenced: what is left of such a segment is not what was heard there.
class SilencedStretches {
  public:
    explicit SilencedStretches(const std::filesystem::path& survey_folder) {
        for (const ForgottenStretch& one : read_forgotten(survey_folder))
            stretches_[one.recording].push_back({one.from_s, one.to_s});
    }
    bool touch(const RecordingRow& recording, const SegmentRow& segment) const {
        const auto found = stretches_.find(recording.path);
        if (found == stretches_.end()) return false;
        const double rate = recording.sample_rate;
        const double from = static_cast<double>(segment.first_sample) / rate;
        const double to = from + static_cast<double>(segment.samples) / rate;
        return std::any_of(found->second.begin(), found->second.end(),
                           [&](const auto& s) { return s.first < to && s.second > from; });
    }

  private:
    std::map<std::string, std::vector<std::pair<double, double>>> stretches_;
};

/// A segment and where it stands, before it is judged.
struct PlacedSegment {
    std::size_t deployment;
    const KnownRecording& recording;
    const SegmentRow& row;
    Placement place;
    std::optional<std::size_t> left_out_by;  ///< into Survey::decisions
};

/// For reasons that no setting switches off.
void exclude(Judgement& judgement, Reason reason, bool holds) {
    if (!holds) return;
    judgement.flags.add(reason);
    judgement.reasons.add(reason);
}

bool has_results(const KnownRecording& recording) {
    const RecordingState state = recording.row.state;
    return recording.counts() &&
           (state == RecordingState::measured || state == RecordingState::damaged);
}

template <class Use>
void for_each_placed(const Store& store, const Placer& placer, const Decided& decided,
                     std::size_t deployment, const KnownRecording& recording, const Use& use) {
    if (!has_results(recording)) return;
    const double rate = recording.row.sample_rate;
    store.for_each_segment_of(recording.row.id, [&](const SegmentRow& row) {
        PlacedSegment segment{deployment,
                              recording,
                              row,
                              placer.segment(deployment, *recording.start,
                                             static_cast<double>(row.first_sample) / rate,
                                             static_cast<double>(row.samples) / rate),
                              {}};
        // A clock that lost its time says nothing about where the segment belongs.
        if (recording.has(Oddity::clock_reset)) segment.place.inside = false;
        segment.left_out_by =
            decided.left_out(deployment, recording.row.path, segment.place.middle);
        use(segment);
    });
}

/// Rain scores of each segment's neighbours, in the order of the walk through the deployment.
std::vector<double> neighbour_scores(const Store& store, const Placer& placer,
                                     const Decided& decided, const Screens& screens,
                                     std::size_t deployment,
                                     const std::vector<KnownRecording>& recordings,
                                     double minutes) {
    struct Scored {
        double start_s, score;
        std::size_t place;
    };
    std::map<int, std::vector<Scored>> channels;
    std::size_t count = 0;
    for (const KnownRecording& recording : recordings)
        for_each_placed(store, placer, decided, deployment, recording, [&](const PlacedSegment& s) {
            const double start_s =
                std::chrono::duration<double>(s.place.start.time_since_epoch()).count();
            const double score = s.left_out_by ? kMissing : screens.rain_score(s.row.values);
            channels[s.row.channel].push_back({start_s, score, count++});
        });
    std::vector<double> result(count, kMissing);
    for (auto& [channel, scored] : channels) {
        std::stable_sort(scored.begin(), scored.end(),
                         [](const Scored& a, const Scored& b) { return a.start_s < b.start_s; });
        std::vector<double> starts, scores;
        for (const Scored& s : scored) {
            starts.push_back(s.start_s);
            scores.push_back(s.score);
        }
        const std::vector<double> nearby = nearby_rain(starts, scores, minutes);
        for (std::size_t i = 0; i < scored.size(); ++i) result[scored[i].place] = nearby[i];
    }
    return result;
}

}  // namespace

struct JudgedSegments::State {
    const Survey& survey;
    const Store& store;
    Placer placer;
    Decided decided;
    std::vector<std::string> columns;
    Screens screens;
    SilencedStretches silenced;
    std::vector<Judgement> judgements;  ///< in the order of the walk, doubts not yet taken off
    std::vector<FlagTally> tallies;
    std::vector<Reasons> doubted;  ///< by site
    std::size_t not_measured = 0;
    std::vector<std::size_t> walk;  ///< deployments, by name
    std::vector<SameSound> same;
    std::vector<bool> in_doubt;  ///< by site: it has another's recordings, or another has its own

    State(const Survey& the_survey, const Store& the_store, std::optional<std::size_t> site)
        : survey(the_survey),
          store(the_store),
          placer(the_survey),
          decided(the_survey),
          columns(the_store.settings()->columns),
          screens(the_survey.screen, columns),
          silenced(the_survey.folder),
          tallies(the_survey.sites.size()),
          same(same_sounds(the_survey, the_store)),
          in_doubt(the_survey.sites.size()) {
        for (const SameSound& pair : same) in_doubt[pair.site_a] = in_doubt[pair.site_b] = true;
        for (const std::size_t deployment : deployments_by_name(survey))
            if (!site || survey.deployments[deployment].site == *site) walk.push_back(deployment);
        for (const std::size_t deployment : walk) judge(deployment);
        for (const FlagTally& tally : tallies) doubted.push_back(tally.suspicious(survey.screen));
    }

    std::vector<KnownRecording> recordings(std::size_t deployment) const {
        return recordings_of(survey, store, placer, deployment);
    }

    void judge(std::size_t deployment) {
        const auto known = recordings(deployment);
        std::vector<double> nearby;
        if (survey.screen.rain_nearby_weight > 0)
            nearby = neighbour_scores(store, placer, decided, screens, deployment, known,
                                      survey.screen.rain_nearby_minutes);
        FlagTally& tally = tallies[survey.deployments[deployment].site];
        std::size_t count = 0;
        for (const KnownRecording& recording : known) {
            if (recording.row.state == RecordingState::pending) ++not_measured;
            for_each_placed(
                store, placer, decided, deployment, recording, [&](const PlacedSegment& s) {
                    SegmentContext context;
                    context.complete = s.row.complete;
                    context.inside = s.place.inside;
                    context.same_sound = in_doubt[survey.deployments[deployment].site];
                    if (!nearby.empty()) context.rain_nearby = nearby[count];
                    ++count;
                    Judgement judgement = screens.judge(s.row.values, context);
                    // [screen].outside_excludes is for segments whose time is known.
                    if (recording.has(Oddity::clock_reset)) judgement.reasons.add(Reason::outside);
                    exclude(judgement, Reason::decision, s.left_out_by.has_value());
                    exclude(judgement, Reason::silenced, silenced.touch(recording.row, s.row));
                    judgements.push_back(judgement);
                    if (s.row.complete && s.place.inside && !s.left_out_by) tally.add(judgement);
                });
        }
    }
};

JudgedSegments::JudgedSegments(const Survey& survey, const Store& store,
                               std::optional<std::size_t> site) {
    require_current_results(survey, store);
    refuse_idle_decisions(survey, store);
    state_ = std::make_unique<State>(survey, store, site);
}
JudgedSegments::~JudgedSegments() = default;
JudgedSegments::JudgedSegments(JudgedSegments&&) noexcept = default;

void JudgedSegments::visit(std::span<SegmentVisitor* const> visitors) const {
    const State& state = *state_;
    std::size_t next = 0;
    for (const std::size_t deployment : state.walk) {
        const std::size_t site = state.survey.deployments[deployment].site;
        const auto known = state.recordings(deployment);
        for (SegmentVisitor* visitor : visitors) visitor->begin_deployment(deployment, known);
        for (const KnownRecording& recording : known) {
            stop_if_interrupted();
            for (SegmentVisitor* visitor : visitors) visitor->begin_recording(recording);
            for_each_placed(
                state.store, state.placer, state.decided, deployment, recording,
                [&](const PlacedSegment& s) {
                    if (next == state.judgements.size())
                        throw MachineError(
                            "the survey was measured while its tables were made; run again");
                    const Reasons doubted = state.doubted[site];
                    Judgement judgement =
                        without(state.judgements[next++], doubted | state.decided.kept_at(site));
                    // A time that nobody knows is no screen that a site could be kept from.
                    if (recording.has(Oddity::clock_reset)) judgement.reasons.add(Reason::outside);
                    const JudgedSegment segment{deployment, site,      &recording, &s.row,
                                                s.place,    judgement, doubted,    s.left_out_by};
                    for (SegmentVisitor* visitor : visitors) visitor->segment(segment);
                });
            for (SegmentVisitor* visitor : visitors) visitor->end_recording(recording);
        }
        for (SegmentVisitor* visitor : visitors) visitor->end_deployment(deployment, known);
    }
    if (next != state.judgements.size())
        throw MachineError("the survey was measured while its tables were made; run again");
}

const std::vector<std::string>& JudgedSegments::stored_columns() const {
    return state_->columns;
}
const Placer& JudgedSegments::placer() const {
    return state_->placer;
}
std::size_t JudgedSegments::segments() const {
    return state_->judgements.size();
}
const std::vector<FlagTally>& JudgedSegments::tallies() const {
    return state_->tallies;
}
const std::vector<SameSound>& JudgedSegments::same() const {
    return state_->same;
}
std::size_t JudgedSegments::not_measured() const {
    return state_->not_measured;
}

std::vector<KnownRecording> recordings_of(const Survey& survey, const Store& store,
                                          const Placer& placer, std::size_t deployment) {
    std::vector<RecordingRow> rows;
    store.for_each_recording_of(survey.deployments[deployment].name,
                                [&](const RecordingRow& row) { rows.push_back(row); });
    return examine_recordings(placer, deployment, std::move(rows),
                              [&](const RecordingRow& row) { return is_silent(store, row); });
}

std::vector<std::size_t> deployments_by_name(const Survey& survey) {
    std::vector<std::size_t> order(survey.deployments.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return survey.deployments[a].name < survey.deployments[b].name;
    });
    return order;
}

}  // namespace hearwood
