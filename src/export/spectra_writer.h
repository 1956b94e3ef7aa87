// A survey's kept spectra, a NetCDF file for each sample rate.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "aggregate/judged_segments.h"
#include "survey/survey.h"

namespace hearwood {

class Progress;

struct SpectraWritten {
    std::filesystem::path file;
    std::uint64_t spectra = 0;
    int sample_rate = 0;  ///< Hz
};

/// The first sample rate met has the name asked for, another one its rate in it: "out.16000hz.nc".
/// Errors: InputError when no spectra are kept; MachineError with the path.
std::vector<SpectraWritten> write_spectra(const Survey& survey, const Store& store,
                                          const JudgedSegments& segments,
                                          const std::filesystem::path& out, Progress& progress);

}  // namespace hearwood
