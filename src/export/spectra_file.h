// The spectra of a survey as NetCDF-4 files after the CF conventions: an indexed ragged array of
// time series (one a site) with frequency as a further axis.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "aggregate/judged_segments.h"
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
