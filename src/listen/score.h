// From answers to what they say: how far listeners agree, which indices follow the ear, how right
// the screens are, and whether the classes differ to the ear (docs/listening.md). Pure data in,
// results out.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "contrast/listening.h"
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

std::vector<AgreementRow> agreement(const std::vector<Answer>& answers,
                                    const std::vector<KeyLine>& key);

/// Reads the files' answers. Errors: as read_key and read_answers.
std::vector<Answer> answers_in(const Survey& survey,
                               const std::vector<std::filesystem::path>& files);
/// The answers of the score that the store keeps. Errors: as read_key; InputError when none is
/// kept, or when a new sheet was begun since.
std::vector<Answer> kept_answers(const Survey& survey, const Store& store);

/// Errors: as read_key and JudgedSegments; InputError when the answers are of another sheet.
ListeningScore score_listening(const Survey& survey, const Store& store,
                               const std::vector<Answer>& answers);

/// Keeps the score with its answers in survey.db, which it opens for writing, so that it can be
/// made anew when it is old. `measured` is what it was made from.
void keep_score(const Survey& survey, const Store& measured, const std::vector<Answer>& answers,
                const ListeningScore& score);

/// tables/listening.csv, listening_agreement.csv, listening_screens.csv and
/// listening_contrasts.csv.
void write_listening_tables(const Survey& survey, const ListeningScore& score);
/// Printed lines: what a person wants to know.
std::string listening_summary(const Survey& survey, const ListeningScore& score);

}  // namespace hearwood
