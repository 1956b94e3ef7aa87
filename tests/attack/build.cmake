# Hostile sheets, names, links and headers through the real program. `proof`, `disk`, `places`, `exchange` and `turns` attack what
# "may be wiped" rests on: the latter four mount disks of their own and need root and /dev/fuse.
foreach(script names links sizes proof disk places exchange turns slips voices power)
  add_test(NAME attack_${script} COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/${script}_check.py)
  set_tests_properties(attack_${script} PROPERTIES SKIP_RETURN_CODE 77 ENVIRONMENT
    "HEARWOOD_BINARY=$<TARGET_FILE:hearwood>;HEARWOOD_SOURCE_DIR=${CMAKE_SOURCE_DIR};HEARWOOD_SANITIZED=${HEARWOOD_SANITIZE}")
endforeach()
