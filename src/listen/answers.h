// What listeners answered: the CSV that the page exports (docs/listening.md).
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <vector>

#include "listen/key.h"

namespace hearwood {

/// What can be ticked, in the order of the columns. The first four are animals.
inline constexpr std::array<const char*, 10> kHeard = {
    "birds", "insects", "frogs", "mammals", "rain", "wind", "water", "engine", "people", "other"};
inline constexpr int kAnimalKinds = 4;
inline constexpr int kFullnessSteps = 5;  ///< 0 nothing .. 4 all of it

struct Answer {
    std::string listener, clip;
    std::array<bool, kHeard.size()> heard{};
    int kinds = 0;     ///< of call
    int fullness = 0;  ///< 0..4
    bool unsure = false;
    std::string note;

    bool animals() const;
};

/// Reads and checks the files against the key: every problem of all of them at once (another
/// sheet's answers, unknown clips, values out of range, a clip answered twice by one listener).
/// Errors: InputError.
std::vector<Answer> read_answers(const std::vector<std::filesystem::path>& files,
                                 const std::vector<KeyLine>& key);

}  // namespace hearwood
