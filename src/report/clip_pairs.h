// Pairs to hear side by side: a segment of each class from the same block, date and hour.
//
// For each window and block, among the kept, complete segments that no screen flags and that have a
// value of the index clips are chosen by: of all dates and hours at which both classes have one,
// the pair whose values lie nearest to the medians (the lower of two) of the classes in that window
// and block, by the sum of both distances; of equal ones the earliest. Up to six pairs, by turns of
// the windows, the primary outcome's first, and of the blocks.
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <vector>

#include "report/clips.h"

namespace hearwood {

inline constexpr std::size_t kMostPairs = 6;

struct ChosenPair {
    std::string block;                ///< empty where the survey has none
    int hour = 0;                     ///< of the local clock
    std::array<ChosenSegment, 2> of;  ///< class A, class B
};
std::vector<ChosenPair> choose_pairs(const Survey& survey, const SegmentGatherer& gathered,
                                     const std::string& first_window);

struct ClipPair {
    std::string block;
    int hour = 0;
    std::array<Clip, 2> clips;  ///< class A, class B
};

struct ClipPairs {
    std::vector<ClipPair> pairs;          ///< those whose two sounds could be read
    double floor_db = 0, ceiling_db = 0;  ///< one scale for all pictures, dBFS
    double high_hz = 0;                   ///< and one range of frequencies
    std::size_t unreadable = 0;           ///< pairs chosen, of which a recording cannot be read
};

/// Cuts them into folder/clips/pairs/.
ClipPairs cut_pairs(const Survey& survey, const Store& store, const SegmentGatherer& gathered,
                    const std::string& first_window, const std::filesystem::path& folder);

}  // namespace hearwood
