// Writes the demo survey: sheets, recordings, and the truth beside them.
#pragma once

#include <cstdint>
#include <filesystem>

namespace hearwood {

struct DemoSummary {
    std::size_t sites = 0, files = 0;
    std::uint64_t bytes = 0;
    bool interrupted = false;
};

/// Makes a survey folder that `run` takes as it is. The same seed gives the same bytes, whatever
/// the number of jobs. truth.csv lists what every file holds. Errors: InputError when the folder is
/// there and not empty, MachineError when it cannot be written.
DemoSummary make_demo(const std::filesystem::path& folder, std::uint64_t seed, int jobs,
                      bool quiet);

}  // namespace hearwood
