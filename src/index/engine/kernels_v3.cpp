// The kernels for processors with AVX2 and FMA (x86-64-v3); build.cmake gives this file its flags.
#include <utility>

#include "index/engine/kernels.h"

#if defined(__x86_64__)
#include <immintrin.h>

#define HEARWOOD_KERNEL_NAME "x86-64-v3"

namespace hearwood {
namespace {
#include "index/engine/kernels_body.h"
}  // namespace

const Kernels& v3_kernels() {
    return kTable;
}

}  // namespace hearwood
#endif
