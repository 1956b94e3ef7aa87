# End-to-end tests through the real binary, in fresh temporary folders. Python's standard unittest; numpy, scipy,
# pandas and ephem are Debian's.
add_executable(decode_sound ${CMAKE_CURRENT_SOURCE_DIR}/run/decode_sound.cpp)
target_compile_options(decode_sound PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(decode_sound PRIVATE PkgConfig::SNDFILE)

foreach(script tables_check decisions_check camp_check rows_check archive_check broken_check real_sound_check)
  add_test(NAME run_${script} COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/run/${script}.py)
  set_tests_properties(run_${script} PROPERTIES ENVIRONMENT
    "HEARWOOD_BINARY=$<TARGET_FILE:hearwood>;HEARWOOD_DECODER=$<TARGET_FILE:decode_sound>")
endforeach()
