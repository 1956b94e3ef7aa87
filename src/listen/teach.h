// Screens taught by the ear: from what listeners heard in the clips a rule for rain, engines and
// wind that is fitted to this survey, beside how well the fixed rule does (docs/screens.md).
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/missing.h"
#include "listen/answers.h"
#include "screen/rules.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// With fewer labelled clips nothing is taught.
inline constexpr int kFewestTaughtClips = 60;

struct PrecisionAndRecall {
    double precision = kMissing;  ///< of the clips that it flags, the share that was heard so
    double recall = kMissing;     ///< of the clips that were heard so, the share that it flags
    /// Harmonic mean of both.
    double f() const;
};

struct TaughtScreen {
    Reason reason = Reason::rain;
    int clips = 0, heard = 0, sites = 0;
    PrecisionAndRecall fixed;        ///< of the rule that comes with the program, on these clips
    PrecisionAndRecall taught;       ///< each site's clips judged by a rule fitted to the others
    std::optional<TaughtRule> rule;  ///< fitted to all clips; without its date
    std::string why;                 ///< why there is none; empty when there is
};

/// Rain, engine, wind. Errors: as read_key and JudgedSegments; InputError with fewer clips than
/// kFewestTaughtClips.
std::vector<TaughtScreen> teach_screens(const Survey& survey, const Store& store,
                                        const std::vector<Answer>& answers);

/// Printed lines.
std::string taught_summary(const std::vector<TaughtScreen>& screens);

/// survey.toml with these rules in the place of those taught before. Errors: MachineError.
void keep_taught_rules(const Survey& survey, const std::vector<TaughtScreen>& screens,
                       const std::string& date);

}  // namespace hearwood
