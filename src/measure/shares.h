// Which part of a survey that is measured in parts has which recording.
#pragma once

#include <algorithm>
#include <cstdint>
#include <functional>
#include <queue>
#include <utility>
#include <vector>

namespace hearwood {

/// Deals recordings out in the order in which they come, each to the part with the fewest bytes so
/// far (the lowest number where several have as few). Every task walks the same files in the same
/// order, so all agree without a word to each other; no part gets more than the mean and one
/// recording.
class Shares {
  public:
    explicit Shares(int parts) {
        for (int part = 0; part < parts; ++part) loads_.push({0, part});
    }
    /// The part, counted from 0, of the next recording.
    int deal(std::uint64_t bytes) {
        auto [load, part] = loads_.top();
        loads_.pop();
        // An opened file costs something even when it is empty.
        loads_.push({load + std::max<std::uint64_t>(bytes, 1), part});
        return part;
    }

  private:
    using Load = std::pair<std::uint64_t, int>;
    std::priority_queue<Load, std::vector<Load>, std::greater<>> loads_;
};

}  // namespace hearwood
