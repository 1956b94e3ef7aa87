// Frames and cells in double precision, for samples of more than 16 bits.
//
// A 16-bit recording has noise of its own far above the rounding of single precision. Decoded lossy
// recordings, computed signals, 24-bit and floating-point files need not: ranges of their spectrum
// can be so empty that a single-precision transform would show nothing but its own rounding there.
// This is plain code, a quarter as fast as the kernels, and gives the same bits on either path.
#pragma once

#include <vector>

#include "index/engine/kernels.h"
#include "index/engine/slot_map.h"
#include "spectrum/fftw_plan.h"

namespace hearwood {

class PreciseSpectra {
  public:
    /// The window is multiplied by `down`, which the powers then hold squared (as in the kernels).
    /// Cells whose amplitude is above `loud_amplitude` (full scale 1 after the window) are counted
    /// as loud. The slot map must outlive the object.
    PreciseSpectra(int frame, int batch, double down, double loud_amplitude, const SlotMap& slots,
                   const Kernels& kernels);

    /// Windows a frame of int32_t, float or double, whose full scale is `unit` (a power of two),
    /// into place i of the batch; the sums are those of the raw x.
    template <typename T>
    SampleSums window_samples(const T* x, double unit, int i);
    void execute() { plan_.execute(); }
    /// Sums and stores the cells of run.frames frames from place `first` on; run.rows is not read.
    void sum_cells(int first, const CellRun& run, const CellSums& sums);
    /// Stores the cells and powers of run.frames frames from place 0 on, and sums nothing.
    void keep_cells(const CellRun& run);

  private:
    /// Sums per bin over the frames of a run.
    struct RunSums {
        explicit RunSums(std::size_t bins)
            : power(bins), amplitude(bins), difference(bins), loud(bins) {}
        void begin();
        std::vector<double> power, amplitude, difference, loud;
    };

    void square_frame(const double* row);
    void sum_frame(const double* row, bool has_last);
    void store_cells(const CellRun& run, int frame);

    int frame_;
    const SlotMap& slots_;
    std::vector<double> window_, loud_power_;
    std::vector<int> cell_of_;  ///< per slot: its place among the 2 L cells of its group's row
    std::vector<double> powers_, amplitudes_, last_;  ///< per bin of this frame and the one before
    RunSums run_;
    int row_cells_;
    std::size_t in_distance_, out_distance_;  ///< in doubles
    FftwBuffer<double> in_, out_;
    PreciseRealPlan plan_;
};

extern template SampleSums PreciseSpectra::window_samples(const std::int32_t*, double, int);
extern template SampleSums PreciseSpectra::window_samples(const float*, double, int);
extern template SampleSums PreciseSpectra::window_samples(const double*, double, int);

}  // namespace hearwood
