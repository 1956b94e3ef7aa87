#include "aggregate/survey_look.h"

#include <algorithm>
#include <map>

#include "aggregate/card_evidence.h"
#include "aggregate/judged_segments.h"
#include "aggregate/known_recordings.h"
#include "aggregate/site_averager.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/text.h"
#include "measure/measure.h"
#include "measure/recording_facts.h"
#include "measure/survey_walk.h"

namespace hearwood {
namespace {

/// Minutes of kept segments by deployment.
class UsableMinutes : public SegmentVisitor {
  public:
    UsableMinutes(const Survey& survey, const Zone& zone)
        : minutes_(survey.deployments.size(), HourMinutes(zone)) {}
    void segment(const JudgedSegment& segment) override {
        if (segment.judgement.kept())
            add_usable(minutes_[segment.deployment], segment.place.start, segment.duration_s(),
                       segment.recording->row.channels);
    }
    HourMinutes& of(std::size_t deployment) { return minutes_[deployment]; }

  private:
    std::vector<HourMinutes> minutes_;
};

class Looker {
  public:
    Looker(const Survey& survey, const Store& store, bool quiet)
        : survey_(survey),
          store_(store),
          settings_hash_(measuring_settings(survey.measure).hash),
          facts_(survey, settings_hash_),
          placer_(survey),
          usable_(survey, placer_.zone()),
          comparer_(survey, store),
          progress_("looking at recordings", "files", 0, quiet) {}

    SurveyLook look() {
        read_results();
        SurveyWalk::Options options;
        options.settings_hash = settings_hash_;
        SurveyWalk walk(survey_, options);
        for (DeploymentLook found; walk.next(store_, found) && !interrupted();)
            look_at(walk.deployment(), found);
        progress_.finish();
        look_.same_content = comparer_.find();
        look_.evidence = card_evidence(survey_, placer_, cards_);
        look_.interrupted = interrupted();
        std::sort(look_.coverages.begin(), look_.coverages.end(),
                  [&](const auto& a, const auto& b) {
                      return survey_.deployments[a.deployment].name <
                             survey_.deployments[b.deployment].name;
                  });
        return std::move(look_);
    }

  private:
    /// What is measured already tells more than headers do; what other settings measured tells
    /// nothing.
    void read_results() {
        const auto stored = store_.settings();
        if (!stored || stored->hash != settings_hash_) return;
        try {
            const JudgedSegments segments(survey_, store_);
            DerivedValues derived(survey_, store_, segments);
            SiteAverager averager(survey_, derived, segments);
            SegmentVisitor* const visitors[] = {&derived, &averager, &usable_};
            segments.visit(visitors);
            look_.values = averager.finish(segments);
        } catch (const InputError&) {
            // Results that tabulate would refuse: the headers alone tell.
        }
    }

    void look_at(std::size_t deployment, DeploymentLook& found) {
        if (!found.missing_folder.empty())
            look_.missing_folders.push_back(
                {Severity::serious, FindingCode::missing_folder,
                 Subject::deployment(survey_.deployments[deployment].name),
                 as_sentence("its folder cannot be read: " + found.missing_folder), ""});
        std::map<std::string, RecordingRow> rows;
        store_.for_each_recording_of(survey_.deployments[deployment].name,
                                     [&](const RecordingRow& row) { rows[row.path] = row; });
        // What moved is told of where it lies now.
        for (const auto& [id, path] : found.moves)
            std::erase_if(rows, [id = id](const auto& entry) { return entry.second.id == id; });
        for (RecordingRow& row : found.updates) rows[row.path] = row;
        for (Task& task : found.tasks) {
            if (interrupted()) return;
            if (task.kind != Task::Kind::hash) open(task.row);
            rows[task.row.path] = task.row;
            progress_.add();
        }
        std::vector<RecordingRow> list;
        for (auto& [path, row] : rows) {
            comparer_.add(row);
            list.push_back(std::move(row));
        }
        examine(deployment, examine_recordings(placer_, deployment, std::move(list),
                                               [this](const RecordingRow& row) {
                                                   return is_silent(store_, row);
                                               }));
    }

    void open(RecordingRow& row) const {
        const auto recording = facts_.open(disk_path(survey_, row), row);
        if (!recording || row.state != RecordingState::pending) return;
        RecordingRow concluded = row;
        RecordingFacts::conclude(concluded, recording->file().damages(), Losses{});
        if (concluded.state == RecordingState::damaged) row = concluded;
    }

    void examine(std::size_t deployment, const std::vector<KnownRecording>& recordings) {
        HourMinutes& usable = usable_.of(deployment);
        for (const KnownRecording& r : recordings) {
            count(r);
            // Not measured yet: what can be read is taken for usable.
            if (look_.values && r.counts() && r.row.state == RecordingState::pending)
                usable.add(*r.start, *r.start + to_milliseconds(r.duration_s()));
        }
        cards_.push_back(card_traits(survey_, placer_, store_, deployment, recordings));
        look_.coverages.push_back(coverage_of(survey_, placer_, deployment, recordings,
                                              look_.values ? &usable : nullptr));
    }

    void count(const KnownRecording& r) {
        if (r.row.gone) return;
        ++look_.found;
        look_.bytes += static_cast<std::uint64_t>(std::max<std::int64_t>(0, r.row.size));
        look_.seconds += r.duration_s();
        look_.measured += r.row.state == RecordingState::measured ? 1 : 0;
        if (auto finding = finding_about(r))
            (r.unusable() ? look_.unusable : look_.odd).push_back(std::move(*finding));
    }

    const Survey& survey_;
    const Store& store_;
    std::string settings_hash_;
    RecordingFacts facts_;
    Placer placer_;
    UsableMinutes usable_;
    ContentComparer comparer_;
    std::vector<CardTraits> cards_;
    Progress progress_;
    SurveyLook look_;
};

}  // namespace

SurveyLook look_at_survey(const Survey& survey, const Store& store, bool quiet) {
    return Looker(survey, store, quiet).look();
}

}  // namespace hearwood
