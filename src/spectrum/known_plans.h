// FFTW's own note ("wisdom") of the fastest plan for the default frame length, found once by
// measuring and written down here, since measuring in every run costs 30 ms and may end differently
// each time.
//
// The note names the exact problem of PackedFftBatch at N = 512 (256 complex points, 32 at a time,
// rows of 256 and 264) and the library it was made with. FFTW 3.3.10 on x86-64 with AVX follows it,
// a sixth faster than its estimate; every other FFTW, processor or frame length ignores it and
// estimates. To renew it: plan with FFTW_MEASURE instead of FFTW_WISDOM_ONLY in fftw_plan.cpp and
// print fftwf_export_wisdom_to_string().
#pragma once

namespace hearwood {

constexpr const char* kKnownPlans =
    R"((fftw-3.3.10 fftwf_wisdom #x9e7d4dee #xdb14fed1 #x34bf76a4 #xeb6e8fdf
  (fftwf_codelet_n2fv_8_avx 0 #x10bdd #x10bdd #x0 #xa65d78bf #x28c8422e #x8fef6075 #xac0aeb71)
  (fftwf_dft_vrank_geq1_register 0 #x10bdd #x10bdd #x0 #xaf640565 #xafe5398b #x66fdb75d #x9b07d56d)
  (fftwf_codelet_t2fv_32_avx 0 #x10bdd #x10bdd #x0 #x2c50659a #x343a7df7 #xd727540d #xacfea1f9)
))";

}  // namespace hearwood
