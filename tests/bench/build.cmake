# Tools for the comparisons and timings of this folder. Timings are run by hand (speed.py): a machine that is
# busy with other tests would spoil them.
add_executable(analyse ${CMAKE_CURRENT_SOURCE_DIR}/bench/analyse.cpp)
target_compile_options(analyse PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(analyse PRIVATE index PkgConfig::SNDFILE CLI11::CLI11)

add_executable(floor ${CMAKE_CURRENT_SOURCE_DIR}/bench/floor.cpp)
set_target_properties(floor PROPERTIES EXCLUDE_FROM_ALL ON)
target_compile_options(floor PRIVATE ${HEARWOOD_WARNINGS} -O3)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "x86_64|AMD64|amd64")
  target_compile_options(floor PRIVATE -march=x86-64-v3)
endif()
target_link_libraries(floor PRIVATE PkgConfig::FFTW3F PkgConfig::SNDFILE)

add_test(NAME compare_reference
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/bench/compare_reference.py $<TARGET_FILE:analyse>)

# The table that a user checks an installation against: it is what comes out, and this build agrees with it.
add_test(NAME sample_indices
  COMMAND /usr/bin/python3 -B ${CMAKE_CURRENT_SOURCE_DIR}/bench/sample_indices.py --check)
add_test(NAME sample_audio
  COMMAND /usr/bin/python3 -B ${CMAKE_SOURCE_DIR}/sample-audio/check.py $<TARGET_FILE:hearwood>)
