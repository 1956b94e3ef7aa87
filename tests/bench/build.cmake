# Tools for the comparisons and timings of this folder.
add_executable(analyse ${CMAKE_CURRENT_SOURCE_DIR}/bench/analyse.cpp)
target_compile_options(analyse PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(analyse PRIVATE index PkgConfig::SNDFILE CLI11::CLI11)

add_test(NAME compare_reference
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/bench/compare_reference.py $<TARGET_FILE:analyse>)
