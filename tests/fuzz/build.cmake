# The fuzz targets. In the default suite each is driven by mutate_main.cpp for about ten seconds; with
# -DHEARWOOD_FUZZ=ON (clang) tests/fuzz/run.sh drives them by libFuzzer.
set(fuzz_folder ${CMAKE_CURRENT_LIST_DIR})
set(fuzz_corpus ${CMAKE_BINARY_DIR}/fuzz-corpus)
execute_process(COMMAND /usr/bin/python3 ${fuzz_folder}/make_corpus.py ${fuzz_corpus} COMMAND_ERROR_IS_FATAL ANY)

add_library(fuzz_mutate OBJECT ${fuzz_folder}/mutate_main.cpp)
target_include_directories(fuzz_mutate PRIVATE ${fuzz_folder})

function(hearwood_fuzz name rounds)
  cmake_parse_arguments(FUZZ "" "" "LINKS" ${ARGN})
  add_executable(fuzz_${name} ${fuzz_folder}/${name}_target.cpp)
  target_include_directories(fuzz_${name} PRIVATE ${fuzz_folder})
  target_link_libraries(fuzz_${name} PRIVATE ${FUZZ_LINKS})
  if(HEARWOOD_FUZZ)
    target_link_options(fuzz_${name} PRIVATE -fsanitize=fuzzer)
  else()
    target_link_libraries(fuzz_${name} PRIVATE fuzz_mutate)
    add_test(NAME fuzz_${name} COMMAND fuzz_${name} ${fuzz_corpus}/${name} ${rounds})
  endif()
endfunction()

# Rounds for roughly ten seconds each on a small machine.
hearwood_fuzz(sheet 2000000 LINKS base)
hearwood_fuzz(chunks 300000 LINKS audio base)
hearwood_fuzz(name 3000000 LINKS audio base)
hearwood_fuzz(recording 200000 LINKS index audio survey base)
hearwood_fuzz(survey 40000 LINKS survey base)
hearwood_fuzz(answers 300000 LINKS listen base)
