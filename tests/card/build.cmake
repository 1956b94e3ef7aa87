# The program itself against cards with planted faults; see also soak.sh, which is not run by default.
add_test(NAME offload
  COMMAND /usr/bin/python3 ${folder}/offload_check.py $<TARGET_FILE:hearwood> $<TARGET_FILE:fault_library>)
set_tests_properties(offload PROPERTIES TIMEOUT 600)
