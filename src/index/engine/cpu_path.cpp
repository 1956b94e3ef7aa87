// Which kernels run here.
#include <cstdlib>
#include <string_view>

#include "index/engine/kernels.h"

namespace hearwood {
namespace {

#if defined(__x86_64__)
bool baseline_wanted() {
    const char* wish = std::getenv("HEARWOOD_CPU");
    return wish && std::string_view(wish) == "baseline";
}
#endif

const Kernels& best_kernels() {
#if defined(__x86_64__)
    // What x86-64-v3 adds to the baseline, as far as a compiler may use it in vector code.
    const bool able = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
                      __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
    if (able && !baseline_wanted()) return v3_kernels();
#endif
    return baseline_kernels();
}

}  // namespace

const Kernels& kernels(CpuPath path) {
    static const Kernels& best = best_kernels();
    return path == CpuPath::baseline ? baseline_kernels() : best;
}

const char* cpu_path() {
    return kernels(CpuPath::best).name;
}

}  // namespace hearwood
