# Tools for the comparisons and timings of this folder; compare_reference.py runs as a test.
add_executable(analyse ${CMAKE_CURRENT_SOURCE_DIR}/bench/analyse.cpp)
target_compile_options(analyse PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(analyse PRIVATE index PkgConfig::SNDFILE)
