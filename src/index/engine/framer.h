// Cuts a stream of samples, handed over in blocks of any length, into frames of N samples every H
// samples.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstring>
#include <memory>
#include <span>

namespace hearwood {

class Framer {
  public:
    Framer(int frame, int hop)
        : frame_(frame),
          hop_(hop),
          carry_(new std::byte[2 * sizeof(double) * static_cast<std::size_t>(frame)]) {}

    void begin() { held_ = skip_ = 0; }

    /// Calls emit(const T*) for every frame that the block completes. Frames that lie wholly in the
    /// block are handed over in place; only those across a border are copied. REQUIRES: T as in
    /// earlier calls since begin().
    template <typename T, typename Emit>
    void add(std::span<const T> block, Emit&& emit) {
        static_assert(sizeof(T) <= sizeof(double));
        static_assert(alignof(T) <= alignof(double));
        const std::size_t frame = frame_, hop = hop_;
        const std::size_t dropped = std::min(skip_, block.size());
        skip_ -= dropped;
        block = block.subspan(dropped);
        if (block.empty()) return;

        std::size_t at = 0;  // of the next frame, in the block
        if (held_ > 0) {
            T* carry = reinterpret_cast<T*>(carry_.get());
            const std::size_t taken = std::min(block.size(), frame - 1);
            std::memcpy(carry + held_, block.data(), taken * sizeof(T));
            std::size_t start = 0;
            for (; start < held_ && start + frame <= held_ + taken; start += hop)
                emit(carry + start);
            if (start < held_) {  // the block ended first
                held_ = held_ + taken - start;
                std::memmove(carry, carry + start, held_ * sizeof(T));
                return;
            }
            at = start - held_;
        }
        for (; at + frame <= block.size(); at += hop) emit(block.data() + at);
        held_ = at < block.size() ? block.size() - at : 0;
        skip_ = at > block.size() ? at - block.size() : 0;
        if (held_ > 0) std::memcpy(carry_.get(), block.data() + at, held_ * sizeof(T));
    }

    /// The samples after the last frame's hop, when they are fewer than a frame.
    template <typename T>
    std::span<const T> rest() const {
        return {reinterpret_cast<const T*>(carry_.get()), held_};
    }

  private:
    int frame_, hop_;
    std::size_t held_ =
        0;  ///< samples in carry_, from the next frame's start on; fewer than a frame
    std::size_t skip_ =
        0;  ///< samples to drop before the next frame, when the hop is longer than a frame
    std::unique_ptr<std::byte[]> carry_;  ///< room for 2 N samples of any type
};

}  // namespace hearwood
