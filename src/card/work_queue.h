// A line of work between threads: some put in, some take out.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <mutex>
#include <optional>
#include <utility>
#include <vector>

namespace hearwood {

template <class Item>
class WorkQueue {
  public:
    /// put() waits while this many items are in line.
    explicit WorkQueue(std::size_t most) : most_(most) {}

    /// Drops the item when the queue was abandoned.
    void put(Item item) {
        std::unique_lock lock(mutex_);
        room_.wait(lock, [this] { return items_.size() < most_ || abandoned_; });
        if (abandoned_) return;
        items_.push_back(std::move(item));
        some_.notify_one();
    }

    /// Waits for an item; nothing when the queue is closed and empty, or abandoned.
    std::optional<Item> take() {
        std::unique_lock lock(mutex_);
        some_.wait(lock, [this] { return !items_.empty() || closed_ || abandoned_; });
        if (abandoned_ || items_.empty()) return std::nullopt;
        std::optional<Item> item(std::move(items_.front()));
        items_.pop_front();
        room_.notify_one();
        return item;
    }

    /// Waits for an item and takes it, with those behind it that are in line already and of which
    /// `also` says yes; nothing when the queue is closed and empty, or abandoned.
    template <class Also>
    std::vector<Item> take_some(Also also) {
        std::unique_lock lock(mutex_);
        some_.wait(lock, [this] { return !items_.empty() || closed_ || abandoned_; });
        std::vector<Item> taken;
        while (!items_.empty() && (taken.empty() || also(items_.front()))) {
            taken.push_back(std::move(items_.front()));
            items_.pop_front();
        }
        room_.notify_one();
        return taken;
    }

    /// Nothing more will be put in; what is in line is still taken out.
    void close() {
        const std::scoped_lock lock(mutex_);
        closed_ = true;
        some_.notify_all();
    }

    /// What is in line is dropped; everybody wakes up.
    void abandon() {
        const std::scoped_lock lock(mutex_);
        abandoned_ = true;
        items_.clear();
        some_.notify_all();
        room_.notify_all();
    }

  private:
    const std::size_t most_;
    std::mutex mutex_;
    std::condition_variable some_, room_;
    std::deque<Item> items_;
    bool closed_ = false, abandoned_ = false;
};

}  // namespace hearwood
