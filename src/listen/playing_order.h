// In which order the clips of a listening sheet are played.
#pragma once

#include <cstddef>
#include <vector>

namespace hearwood {

class Random;

/// Places 0 .. count - 1 one after another, and `repeats` of those of the first half (at most all
/// of them) a second time, at random places at least a third of the whole sheet after the first
/// time.
std::vector<std::size_t> playing_order(std::size_t count, std::size_t repeats, Random& random);

}  // namespace hearwood
