# The demo's truth against what the whole program makes of it.
add_test(NAME demo_truth COMMAND /usr/bin/python3 ${folder}/truth_test.py)
set_tests_properties(demo_truth PROPERTIES TIMEOUT 900
                     ENVIRONMENT HEARWOOD_BINARY=$<TARGET_FILE:hearwood>)
