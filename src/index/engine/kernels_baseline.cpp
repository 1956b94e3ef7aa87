// The kernels for any processor.
#include <utility>

#include "index/engine/kernels.h"

#if defined(__SSE2__)
#include <emmintrin.h>
#elif defined(__aarch64__)
#include <arm_neon.h>
#endif

#define HEARWOOD_KERNEL_NAME "baseline"

namespace hearwood {
namespace {
#include "index/engine/kernels_body.h"
}  // namespace

const Kernels& baseline_kernels() {
    return kTable;
}

}  // namespace hearwood
