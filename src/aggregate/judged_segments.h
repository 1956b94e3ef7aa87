// Every measured segment of a survey in the order of segments.csv, with its place in time and
// whether it is kept. Tables, site values, pictures and listening all see the same segments through
// this one door.
//
// Two passes over the store: the first judges each segment and finds the screens that fire on
// nearly all of a site (they become a question there, not an exclusion); the second hands the
// segments out. Memory: six bytes a segment, and the recordings of one deployment.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "aggregate/known_recordings.h"
#include "aggregate/placement.h"
#include "aggregate/same_sound.h"
#include "screen/rules.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct JudgedSegment {
    std::size_t deployment = 0;  ///< into Survey::deployments
    std::size_t site = 0;        ///< into Survey::sites
    const KnownRecording* recording = nullptr;
    const SegmentRow* row = nullptr;  ///< values parallel to JudgedSegments::stored_columns()
    Placement place;
    Judgement judgement;
    Reasons doubted;  ///< screens that fire on nearly all of the site and exclude nothing there
    std::optional<std::size_t> left_out_by;  ///< into Survey::decisions

    double duration_s() const {
        return static_cast<double>(row->samples) / recording->row.sample_rate;
    }
    /// Enters the averages.
    bool averaged() const { return row->complete && judgement.kept(); }
    /// Could have entered them: complete, recorded at the site, and not left out by a person.
    bool possible() const {
        return row->complete && !judgement.reasons.has(Reason::outside) && !left_out_by;
    }
};

/// Takes what visit() hands out; does what it likes with it. Calls come in this order for each
/// deployment of the sheet, in the order of their names: begin_deployment, for each recording
/// begin_recording, its segments (channel by channel), end_recording; end_deployment.
class SegmentVisitor {
  public:
    virtual ~SegmentVisitor() = default;
    virtual void begin_deployment(std::size_t /*deployment*/, std::span<const KnownRecording>) {}
    virtual void begin_recording(const KnownRecording&) {}
    virtual void segment(const JudgedSegment&) {}
    virtual void end_recording(const KnownRecording&) {}
    virtual void end_deployment(std::size_t /*deployment*/, std::span<const KnownRecording>) {}
};

class JudgedSegments {
  public:
    /// Makes the first pass. Errors: InputError when nothing was measured, or under other settings
    /// or another pattern of names than the survey's now; each says what to run.
    /// With a site, of its deployments alone: nothing that judges a segment looks beyond its site.
    JudgedSegments(const Survey& survey, const Store& store, std::optional<std::size_t> site = {});
    ~JudgedSegments();
    JudgedSegments(JudgedSegments&&) noexcept;

    /// The second pass, as often as wanted. MachineError when the store changed since the first.
    void visit(std::span<SegmentVisitor* const> visitors) const;

    const std::vector<std::string>& stored_columns() const;
    const Placer& placer() const;
    std::size_t segments() const;
    /// How often each reason fired at each site, over complete segments inside; parallel to
    /// Survey::sites.
    const std::vector<FlagTally>& tallies() const;
    /// Deployments of different sites with the same recordings: none of their sites is kept.
    const std::vector<SameSound>& same() const;
    /// Recordings of the deployments in the sheet that are known but not measured yet.
    std::size_t not_measured() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// Errors: InputError when the store's results are not of the survey's settings now, with what
/// differs and what to run. To be called before any results are read.
void require_current_results(const Survey& survey, const Store& store);

/// What the store knows of a deployment's recordings, held against each other.
std::vector<KnownRecording> recordings_of(const Survey& survey, const Store& store,
                                          const Placer& placer, std::size_t deployment);

/// Names of the survey's deployments as indices, ordered by name: the order of every table.
std::vector<std::size_t> deployments_by_name(const Survey& survey);

}  // namespace hearwood
