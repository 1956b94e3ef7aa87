#include "base/workers.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "base/interrupt.h"

namespace hearwood {

void share_out(std::size_t pieces, int jobs,
               const std::function<void(std::size_t piece, std::size_t worker)>& work) {
    std::atomic<std::size_t> next{0};
    std::exception_ptr failure;
    std::mutex mutex;
    const auto run = [&](std::size_t worker) {
        try {
            for (std::size_t piece = next++; piece < pieces && !interrupted(); piece = next++)
                work(piece, worker);
        } catch (...) {
            const std::lock_guard lock(mutex);
            if (!failure) failure = std::current_exception();
            next = pieces;
        }
    };
    const std::size_t count = std::min(pieces, static_cast<std::size_t>(std::max(jobs, 1)));
    std::vector<std::jthread> threads;
    for (std::size_t worker = 1; worker < count; ++worker) threads.emplace_back(run, worker);
    run(0);
    threads.clear();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace hearwood
