// Whose card is this? Asked when offload is not told.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct CardGuess {
    std::size_t deployment = 0;        ///< into Survey::deployments
    int points = 0;                    ///< for it, less those against it
    std::vector<std::string> reasons;  ///< clauses for it
};

/// Deployments for which something speaks, the likeliest first, then by name. Looks at the names on
/// the card and into the header of one recording. Errors: InputError for a card without recordings.
std::vector<CardGuess> guess_deployment(const Survey& survey, const Store& store,
                                        const std::filesystem::path& card);

/// The likeliest, with the reasons, or those between which nothing decides: a clause.
std::string guess_in_words(const Survey& survey, const std::vector<CardGuess>& guesses);

}  // namespace hearwood
