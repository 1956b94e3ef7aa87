// Work that falls into independent pieces, on several threads.
#pragma once

#include <cstddef>
#include <functional>

namespace hearwood {

/// Calls work(piece, worker) for every piece 0 .. pieces-1, each once, on `jobs` threads (worker 0
/// .. jobs-1). The first exception stops the rest and is thrown on; so does Ctrl-C, without an
/// exception.
void share_out(std::size_t pieces, int jobs,
               const std::function<void(std::size_t piece, std::size_t worker)>& work);

}  // namespace hearwood
