# The kernels are compiled twice (kernels_body.h): for any processor, and for x86-64-v3, chosen at run time.
# -ffp-contract=fast lets a multiplication and an addition become one instruction with one rounding.
set(kernel_flags -O3 -ffp-contract=fast -fno-math-errno -Wno-psabi)
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_baseline.cpp PROPERTIES
  COMPILE_OPTIONS "${kernel_flags}" OBJECT_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_body.h)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64|amd64")
  set(kernel_flags ${kernel_flags} -march=x86-64-v3 -mtune=generic)
endif()
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_v3.cpp PROPERTIES
  COMPILE_OPTIONS "${kernel_flags}" OBJECT_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/index/engine/kernels_body.h)

# Plain loops over doubles, worth the compiler's vectors.
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/index/engine/precise_spectra.cpp PROPERTIES
  COMPILE_OPTIONS "-O3;-fno-math-errno")
