#include "spectrum/fftw_plan.h"

#include <algorithm>
#include <mutex>
#include <new>
#include <string>

#include "base/error.h"
#include "spectrum/known_plans.h"

namespace hearwood {
namespace {

std::mutex& planner() {
    static std::mutex mutex;
    return mutex;
}

template <typename Plan>
Plan checked(Plan plan, int length) {
    if (!plan) {
        throw MachineError("no transform of length " + std::to_string(length) +
                           " can be planned: out of memory; use a shorter frame or fewer jobs");
    }
    return plan;
}

void destroy(fftwf_plan plan) {
    const std::lock_guard lock(planner());
    fftwf_destroy_plan(plan);
}

fftwf_complex* as_complex(float* numbers) {
    return reinterpret_cast<fftwf_complex*>(numbers);
}

}  // namespace

FftwBuffer<float> fftw_floats(std::size_t count) {
    FftwBuffer<float> memory(fftwf_alloc_real(count));
    if (!memory) throw std::bad_alloc();
    std::fill_n(memory.get(), count, 0.0F);
    return memory;
}

FftwBuffer<double> fftw_doubles(std::size_t count) {
    FftwBuffer<double> memory(fftw_alloc_real(count));
    if (!memory) throw std::bad_alloc();
    std::fill_n(memory.get(), count, 0.0);
    return memory;
}

RealPlan::RealPlan(int length, int batch, float* in, int in_distance, float* out,
                   int out_distance) {
    const std::lock_guard lock(planner());
    plan_ = checked(
        fftwf_plan_many_dft_r2c(1, &length, batch, in, nullptr, 1, in_distance, as_complex(out),
                                nullptr, 1, out_distance, FFTW_ESTIMATE | FFTW_DESTROY_INPUT),
        length);
}

RealPlan::~RealPlan() {
    destroy(plan_);
}

InverseRealPlan::InverseRealPlan(int length, float* lines) {
    const std::lock_guard lock(planner());
    plan_ = checked(fftwf_plan_dft_c2r_1d(length, as_complex(lines), lines, FFTW_ESTIMATE), length);
}

InverseRealPlan::~InverseRealPlan() {
    destroy(plan_);
}

PreciseRealPlan::PreciseRealPlan(int length, int batch, double* in, int in_distance, double* out,
                                 int out_distance) {
    const std::lock_guard lock(planner());
    plan_ = checked(fftw_plan_many_dft_r2c(1, &length, batch, in, nullptr, 1, in_distance,
                                           reinterpret_cast<fftw_complex*>(out), nullptr, 1,
                                           out_distance, FFTW_ESTIMATE | FFTW_DESTROY_INPUT),
                    length);
}

PreciseRealPlan::~PreciseRealPlan() {
    const std::lock_guard lock(planner());
    fftw_destroy_plan(plan_);
}

ComplexPlan::ComplexPlan(int length, int batch, float* in, int in_distance, float* out,
                         int out_distance) {
    const std::lock_guard lock(planner());
    static const bool learnt = fftwf_import_wisdom_from_string(kKnownPlans) != 0;
    const auto plan = [&](unsigned how) {
        return fftwf_plan_many_dft(1, &length, batch, as_complex(in), nullptr, 1, in_distance,
                                   as_complex(out), nullptr, 1, out_distance, FFTW_FORWARD,
                                   how | FFTW_DESTROY_INPUT);
    };
    plan_ = learnt ? plan(FFTW_MEASURE | FFTW_WISDOM_ONLY) : nullptr;
    if (!plan_) plan_ = checked(plan(FFTW_ESTIMATE), length);
}

ComplexPlan::~ComplexPlan() {
    destroy(plan_);
}

}  // namespace hearwood
