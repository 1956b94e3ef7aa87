// Everything by which data count or do not: the decisions of a person and what the program does by
// itself, counted as the segments pass. decisions_applied.csv lists it, the methods tell it.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "aggregate/judged_segments.h"
#include "base/finding.h"
#include "base/table.h"

namespace hearwood {

/// A row of decisions_applied.csv.
struct AppliedStep {
    // As in decisions.csv; of an automatic step the kind, its subject and its reason.
    std::string date{}, decision{}, subject{}, from{}, to{}, value{}, reason{}, by{};
    bool automatic = false;
    std::int64_t recordings = 0, segments = 0;  ///< that it concerns; a channel counts by itself
};
TableOf<AppliedStep> decisions_applied_table();

class StepCounter : public SegmentVisitor {
  public:
    /// The survey must outlive it.
    explicit StepCounter(const Survey& survey);
    void begin_deployment(std::size_t deployment,
                          std::span<const KnownRecording> recordings) override;
    void begin_recording(const KnownRecording& recording) override;
    void segment(const JudgedSegment& segment) override;
    /// The decisions in the order of the sheet, then the automatic steps by kind and subject; those
    /// of the latter that concern nothing are left out.
    std::vector<AppliedStep> steps() const;

  private:
    struct Count {
        std::int64_t recordings = 0, segments = 0;
    };
    /// What the program does by itself, in the order of the table.
    enum class Kind {
        silenced,
        gone,
        unreadable,
        no_start_time,
        duplicate,
        clock_reset,
        same_sound,
        screen,
        always_sounds
    };
    using Key = std::pair<Kind, std::pair<std::string, std::string>>;  ///< subject, value

    void count_decision(std::size_t decision);
    void count(Kind kind, const std::string& subject, const std::string& value);
    static const char* reason_of(Kind kind);

    const Survey& survey_;
    std::vector<Count> decisions_;  ///< parallel to Survey::decisions
    std::vector<bool> counted_;     ///< in the recording under way
    std::map<Key, Count> automatic_;
};

/// A note for each decision, with its reason.
std::vector<Finding> findings_of_decisions(const Survey& survey);
/// Serious: what wrong rows of the sheets stand for, which is left out.
std::vector<Finding> findings_of_wrong_rows(const Survey& survey);
/// "site K07, deployments K07-1, H2-1": what is left out for wrong rows; empty: nothing.
std::string left_out_in_words(const Survey& survey);

/// "Decisions about the data: S2 was left out from ... (chainsaws). Left out automatically: 2
/// duplicates." Empty when there is nothing to tell.
std::string steps_in_words(const Survey& survey, std::span<const AppliedStep> steps);

}  // namespace hearwood
