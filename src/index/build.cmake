# The kernels are compiled for any processor (kernels_body.h), for x86-64-v3, and some of them for x86-64-v4, chosen at
# run time.
# -ffp-contract=fast lets a multiplication and an addition become one instruction with one rounding.
set(kernel_flags -O3 -ffp-contract=fast -fno-math-errno -Wno-psabi)
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_baseline.cpp PROPERTIES
  COMPILE_OPTIONS "${kernel_flags}" OBJECT_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_body.h)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64|amd64")
  set(v3_flags -march=x86-64-v3 -mtune=generic)
  # GCC 12 takes the "undefined" vectors of its own header for a fault of ours.
  set(v4_flags -march=x86-64-v4 -mtune=generic -mprefer-vector-width=256 -Wno-uninitialized -Wno-maybe-uninitialized)
endif()
foreach(version v3 v4)
  set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_${version}.cpp PROPERTIES
    COMPILE_OPTIONS "${kernel_flags};${${version}_flags}"
    OBJECT_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_body.h)
endforeach()

# Plain loops over doubles, worth the compiler's vectors.
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/precise_spectra.cpp PROPERTIES
  COMPILE_OPTIONS "-O3;-fno-math-errno")
