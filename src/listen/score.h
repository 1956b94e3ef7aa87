// From answers to what they say: how far listeners agree, which indices follow the ear, how right
// the screens are, and whether the classes differ to the ear (docs/listening.md). Pure data in,
// results out.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "base/table.h"
#include "contrast/contrast.h"
#include "listen/answers.h"
#include "listen/key.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// What all listeners together say of one clip: means of numbers, the share that ticked each box. A
/// clip that came twice counts once, as the mean of each listener's two answers.
struct HeardClip {
    const KeyLine* key = nullptr;
    int listeners = 0;
    double kinds = 0, fullness = 0, animals = 0;
    std::vector<double> heard;  ///< parallel to kHeard, 0..1
};
std::vector<HeardClip> heard_clips(const std::vector<Answer>& answers,
                                   const std::vector<KeyLine>& key);

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
std::vector<AgreementRow> agreement(const std::vector<Answer>& answers,
                                    const std::vector<KeyLine>& key);

/// How one index follows one thing heard.
struct FollowRow {
    std::string index;
    std::string heard;  ///< "fullness" or "kinds"
    double rho = 0, low = 0,
           high = 0;  ///< weighted Spearman; percentile interval, sites drawn with replacement
    int clips = 0, sites = 0;
    std::string verdict;  ///< "follows", "unclear", "does not follow", "opposite", "too few clips"
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
    std::vector<FollowRow> follows;
    std::vector<ScreenRow> screens;
    std::vector<ContrastRow> contrasts;  ///< of fullness, kinds and share of clips with animals
    std::vector<std::string> lost;       ///< clips whose segment is no longer in the store
    std::vector<std::string> voices;     ///< clips in which anybody heard people
};

/// Errors: as read_key, read_answers and JudgedSegments.
ListeningScore score_listening(const Survey& survey, const Store& store,
                               const std::vector<std::filesystem::path>& files);

/// tables/listening.csv, listening_agreement.csv, listening_screens.csv and
/// listening_contrasts.csv.
void write_listening_tables(const Survey& survey, const ListeningScore& score);
/// Those tables, described.
std::vector<TableDescription> listening_tables();

/// Printed lines: what a person wants to know.
std::string listening_summary(const Survey& survey, const ListeningScore& score);

}  // namespace hearwood
