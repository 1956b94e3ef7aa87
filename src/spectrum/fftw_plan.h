// FFTW's own objects with owners, and its planner behind a lock (it is the one part of FFTW that
// threads must not enter at once).
//
// Plans are looked up (known_plans.h) or estimated, never measured: measuring takes 20 to 70 ms a
// length, a third of the time of an hour's recording, and its choice, hence the last bits of every
// spectrum, would differ from run to run.
#pragma once

#include <fftw3.h>

#include <complex>
#include <cstddef>
#include <memory>

namespace hearwood {

struct FftwFree {
    void operator()(float* memory) const { fftwf_free(memory); }
    void operator()(double* memory) const { fftw_free(memory); }
};
template <typename T>
using FftwBuffer = std::unique_ptr<T[], FftwFree>;

/// Zeroed memory, aligned for FFTW's vector code. Errors: std::bad_alloc.
FftwBuffer<float> fftw_floats(std::size_t count);
FftwBuffer<double> fftw_doubles(std::size_t count);

/// `batch` transforms of `length` real samples; distances in samples and in complex bins.
class RealPlan {
  public:
    RealPlan(int length, int batch, float* in, int in_distance, float* out, int out_distance);
    ~RealPlan();
    RealPlan(const RealPlan&) = delete;
    RealPlan& operator=(const RealPlan&) = delete;
    void execute() const { fftwf_execute(plan_); }

  private:
    fftwf_plan plan_;
};

/// From `length` / 2 + 1 complex lines to `length` real samples in their place, not scaled.
class InverseRealPlan {
  public:
    InverseRealPlan(int length, float* lines);
    ~InverseRealPlan();
    InverseRealPlan(const InverseRealPlan&) = delete;
    InverseRealPlan& operator=(const InverseRealPlan&) = delete;
    void execute() const { fftwf_execute(plan_); }

  private:
    fftwf_plan plan_;
};

/// RealPlan in double precision.
class PreciseRealPlan {
  public:
    PreciseRealPlan(int length, int batch, double* in, int in_distance, double* out,
                    int out_distance);
    ~PreciseRealPlan();
    PreciseRealPlan(const PreciseRealPlan&) = delete;
    PreciseRealPlan& operator=(const PreciseRealPlan&) = delete;
    void execute() const { fftw_execute(plan_); }

  private:
    fftw_plan plan_;
};

/// `batch` forward transforms of `length` complex numbers; distances in complex numbers.
class ComplexPlan {
  public:
    ComplexPlan(int length, int batch, float* in, int in_distance, float* out, int out_distance);
    ~ComplexPlan();
    ComplexPlan(const ComplexPlan&) = delete;
    ComplexPlan& operator=(const ComplexPlan&) = delete;
    void execute() const { fftwf_execute(plan_); }

  private:
    fftwf_plan plan_;
};

}  // namespace hearwood
