// What a listening check found (docs/listening.md), as `listen --score` works it out and survey.db
// keeps it: how far listeners agree, how well each index followed the ear, how right the screens
// are, whether the classes differ to the ear; and the sentence that every verdict carries.
#pragma once

#include <string>
#include <vector>

#include "base/table.h"
#include "contrast/contrast.h"

namespace hearwood {

/// How one index follows one thing heard.
struct ListeningResult {
    std::string index, heard;  ///< heard: "fullness" or "kinds"
    /// Weighted Spearman; percentile interval, sites drawn with replacement. NaN: missing.
    double rho = 0, low = 0, high = 0;
    int clips = 0, sites = 0, listeners = 0;
    std::string verdict;  ///< "follows", "unclear", "does not follow", "opposite", "too few clips"
};

/// Agreement on one question: within one listener (clips that came twice), between two, or among
/// all.
struct AgreementRow {
    std::string who;       ///< "AB within", "AB and CD", "all 3"
    std::string question;  ///< a box, "kinds" (0, 1, 2, 3 and more) or "fullness"
    std::string measure;   ///< "Cohen's kappa", "weighted kappa", "Fleiss' kappa"
    int clips = 0;
    double same = 0;   ///< share of clips (of pairs of judges) with equal answers
    double kappa = 0;  ///< NaN when it is not defined
};

/// A screen against what people heard of the same clips, weighted.
struct ScreenRow {
    std::string reason;
    double flagged = 0, heard = 0, both = 0;  ///< weights: segments that the clips stand for
    double precision = 0, precision_low = 0, precision_high = 0;
    double recall = 0, recall_low = 0, recall_high = 0;
    int clips = 0;
};

struct ListeningScore {
    int clips = 0, sites = 0, listeners = 0, unanswered = 0;
    std::vector<AgreementRow> agreement;
    std::vector<ListeningResult> follows;
    std::vector<ScreenRow> screens;
    std::vector<ContrastRow> contrasts;  ///< of fullness, kinds and share of clips with animals
    std::vector<std::string> lost;       ///< clips whose segment is no longer in the store
    std::vector<std::string> voices;     ///< clips in which anybody heard people
};

TableOf<ListeningResult> follow_table();       ///< listening.csv
TableOf<AgreementRow> agreement_table();       ///< listening_agreement.csv
TableOf<ScreenRow> screens_table();            ///< listening_screens.csv
TableOf<ContrastRow> heard_contrasts_table();  ///< listening_contrasts.csv
/// All four, described.
std::vector<TableDescription> listening_tables();

/// "In a blind listening check (60 clips, 12 sites, 2 listeners) aci followed the ear (rho 0.61,
/// 0.32 to 0.80 with fullness); bi and ndsi did not." The index named stands first. Empty for no
/// results.
std::string listening_sentence_of(const std::vector<ListeningResult>& results,
                                  const std::string& first_index);

/// "followed the ear here (rho 0.61)" or "did not follow the ear here (rho 0.05)"; empty when it
/// was not checked.
std::string listening_mark(const std::vector<ListeningResult>& results, const std::string& index);

/// The same as a sign for a table: '+' followed, 'x' did not, '-' went against, '?' unclear,
/// ' ' not checked.
char listening_sign(const std::vector<ListeningResult>& results, const std::string& index);
/// What the signs mean, a line; empty when nothing was checked.
std::string listening_legend(const std::vector<ListeningResult>& results);

}  // namespace hearwood
