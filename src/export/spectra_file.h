// Kept spectra as NetCDF-4 files after the CF conventions: an indexed ragged array of time series
// (one a site) with frequency as a further axis.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "index/kept_spectrum.h"
#include "survey/survey.h"

namespace hearwood {

/// What the whole file says of itself.
struct SpectraHeader {
    int sample_rate = 0;  ///< Hz
    int frame = 0;        ///< N; bins 0..N/2 at k * sample_rate / N
    std::string settings_json, settings_sha256;
};

struct SpectraRow {
    std::size_t site = 0;  ///< into Survey::sites
    double time_s = 0;     ///< start of the segment, seconds since 1970 UTC
    double duration_s = 0;
    int channel = 0;
    bool kept = true;
    std::string recording;  ///< path from the survey folder
    KeptSpectrum spectrum;
};

/// Rows are collected in blocks; memory does not grow with the file. The file appears under its
/// name when finish() was called. Errors: MachineError with the path.
class SpectraFile {
  public:
    SpectraFile(const std::filesystem::path& path, const Survey& survey,
                const SpectraHeader& header);
    ~SpectraFile();
    SpectraFile(SpectraFile&&) noexcept;

    void add(SpectraRow row);
    void finish();
    std::uint64_t rows() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace hearwood
