// Which kernels run here.
#include <cstdlib>
#include <string_view>

#include "index/engine/kernels.h"

namespace hearwood {
namespace {

bool wished(std::string_view path) {
    const char* wish = std::getenv("HEARWOOD_CPU");
    return wish && std::string_view(wish) == path;
}

#if defined(__x86_64__)
/// What x86-64-v3 adds to the baseline, as far as a compiler may use it in vector code.
bool has_v3() {
    return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
           __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
}

bool has_v4() {
    return has_v3() && __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512bw") &&
           __builtin_cpu_supports("avx512cd") && __builtin_cpu_supports("avx512dq") &&
           __builtin_cpu_supports("avx512vl");
}
#endif

const Kernels& best_kernels([[maybe_unused]] bool wide) {
#if defined(__x86_64__)
    if (wide && has_v4() && !wished("baseline") && !wished("x86-64-v3")) return v4_kernels();
    if (has_v3() && !wished("baseline")) return v3_kernels();
#endif
    return baseline_kernels();
}

}  // namespace

const Kernels& kernels(CpuPath path) {
    static const Kernels &best = best_kernels(true), &narrow = best_kernels(false);
    if (path == CpuPath::baseline) return baseline_kernels();
    return path == CpuPath::narrow ? narrow : best;
}

const char* cpu_path() {
    return kernels(CpuPath::best).name;
}

}  // namespace hearwood
