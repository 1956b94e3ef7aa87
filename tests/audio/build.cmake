add_executable(dump_audio ${folder}/dump_audio.cpp)
target_compile_options(dump_audio PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(dump_audio PRIVATE audio)
add_test(NAME audio_formats
  COMMAND /usr/bin/python3 ${folder}/formats_check.py $<TARGET_FILE:dump_audio> $<TARGET_FILE:fault_library>)
