# Loaded into other programs; it must not carry our sanitizers.
add_library(fault_library MODULE ${folder}/fault_library.cpp)
target_compile_options(fault_library PRIVATE -Wall -Wextra $<$<BOOL:${HEARWOOD_WERROR}>:-Werror>)
target_link_libraries(fault_library PRIVATE dl)
set_target_properties(fault_library PROPERTIES PREFIX "")

# A short round; run.sh is the full one.
add_test(NAME faults
  COMMAND /usr/bin/python3 ${folder}/faults.py $<TARGET_FILE:hearwood> $<TARGET_FILE:fault_library>
          --kills 15 --calls 1)
set_tests_properties(faults PROPERTIES TIMEOUT 600 COST 300)
