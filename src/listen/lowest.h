// The few lowest of many, without holding the many.
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

namespace hearwood {

/// Keeps the `most` things of lowest key, whatever the order they come in.
template <typename Key, typename Thing>
class Lowest {
  public:
    using Entry = std::pair<Key, Thing>;

    explicit Lowest(std::size_t most = 0) : most_(most) {}

    void add(const Key& key, const Thing& thing) {
        if (most_ == 0 || (heap_.size() == most_ && !(key < heap_.front().first))) return;
        if (heap_.size() == most_) {
            std::pop_heap(heap_.begin(), heap_.end(), before);
            heap_.pop_back();
        }
        heap_.emplace_back(key, thing);
        std::push_heap(heap_.begin(), heap_.end(), before);
    }

    /// From the lowest on; leaves nothing behind.
    std::vector<Entry> take() {
        std::sort_heap(heap_.begin(), heap_.end(), before);
        return std::exchange(heap_, {});
    }

  private:
    static bool before(const Entry& a, const Entry& b) { return a.first < b.first; }

    std::size_t most_;
    std::vector<Entry> heap_;
};

}  // namespace hearwood
