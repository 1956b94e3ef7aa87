#include "base/parallel.h"

#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

#include <algorithm>

#include "base/interrupt.h"

namespace hearwood {

namespace tbb = oneapi::tbb;

void parallel_for(std::size_t pieces, int jobs,
                  const std::function<void(std::size_t piece, std::size_t worker)>& work) {
    tbb::task_arena arena(std::max(jobs, 1));
    arena.execute([&] {
        tbb::parallel_for(std::size_t{0}, pieces, [&](std::size_t piece) {
            if (interrupted()) return;
            work(piece, static_cast<std::size_t>(tbb::this_task_arena::current_thread_index()));
        });
    });
}

}  // namespace hearwood
