# Hostile sheets, names, links and headers through the real program.
foreach(script names links sizes)
  add_test(NAME attack_${script} COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/${script}_check.py)
  set_tests_properties(attack_${script} PROPERTIES ENVIRONMENT
    "HEARWOOD_BINARY=$<TARGET_FILE:hearwood>;HEARWOOD_SANITIZED=${HEARWOOD_SANITIZE}")
endforeach()
