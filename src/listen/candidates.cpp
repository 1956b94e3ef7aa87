#include "listen/candidates.h"

#include <algorithm>
#include <set>

#include "base/error.h"
#include "base/missing.h"
#include "base/text.h"
#include "statistics/random.h"

namespace hearwood {
namespace {

class CandidateVisitor : public SegmentVisitor {
  public:
    CandidateVisitor(std::size_t index, std::size_t leq, const CandidateTaker& take)
        : index_(index), leq_(leq), take_(take) {}

    void begin_recording(const KnownRecording& recording) override {
        name_ = Random(0, recording.row.path).next();
    }

    void segment(const JudgedSegment& s) override {
        const Reasons flags = s.judgement.flags;
        const double value = s.row->values[index_];
        if (!s.possible() || flags.has(Reason::dead) || flags.has(Reason::clipped) ||
            flags.has(Reason::silenced))
            return;
        if (s.place.part.window < 0 || is_missing(value)) return;
        const auto place = static_cast<std::uint64_t>(s.row->channel) << 32 |
                           static_cast<std::uint32_t>(s.row->segment);
        take_({s.recording->row.id, s.row->channel, s.row->segment, s.row->first_sample,
               s.row->samples, s.site, s.place.part.window, value, s.row->values[leq_],
               s.judgement.kept(), flags, Random(name_ + place).next()});
    }

  private:
    std::size_t index_, leq_;
    const CandidateTaker& take_;
    std::uint64_t name_ = 0;
};

std::size_t place_of(const std::vector<std::string>& columns, const std::string& name) {
    const auto found = std::find(columns.begin(), columns.end(), name);
    if (found != columns.end()) return static_cast<std::size_t>(found - columns.begin());
    const auto near = nearest(name, columns);
    throw InputError("no column '" + name + "' was measured",
                     near ? "did you mean '" + *near + "'?" : "name an index of segments.csv");
}

}  // namespace

ListeningCandidates::ListeningCandidates(const Survey& survey, const Store& store,
                                         const std::string& index)
    : segments_(survey, store),
      index_(place_of(segments_.stored_columns(), index)),
      leq_(place_of(segments_.stored_columns(), "leq_dbfs")) {}

void ListeningCandidates::operator()(const CandidateTaker& take) const {
    CandidateVisitor visitor(index_, leq_, take);
    SegmentVisitor* const visitors[] = {&visitor};
    segments_.visit(visitors);
}

std::map<std::int64_t, RecordingRow> recordings_of(std::span<const Candidate> segments,
                                                   const Store& store) {
    std::set<std::int64_t> wanted;
    for (const Candidate& segment : segments) wanted.insert(segment.recording);
    std::map<std::int64_t, RecordingRow> rows;
    store.for_each_recording([&](const RecordingRow& row) {
        if (wanted.contains(row.id)) rows.emplace(row.id, row);
    });
    return rows;
}

}  // namespace hearwood
