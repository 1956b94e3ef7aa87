// Work that falls into independent pieces, on several threads.
#pragma once

#include <cstddef>
#include <functional>

namespace hearwood {

/// Calls work(piece, worker) for every piece 0 .. pieces-1, each once, on `jobs` threads; `worker`
/// is below `jobs`, and no two calls with the same one run at a time. The first exception stops the
/// rest and is thrown on; Ctrl-C stops the rest without one.
void parallel_for(std::size_t pieces, int jobs,
                  const std::function<void(std::size_t piece, std::size_t worker)>& work);

}  // namespace hearwood
