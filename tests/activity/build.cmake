# events and even through the real binary, in fresh temporary folders. claims.sh is run by hand: it takes most of an hour.
add_test(NAME activity_events_check COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/activity/events_check.py)
set_tests_properties(activity_events_check PROPERTIES ENVIRONMENT
  "HEARWOOD_BINARY=$<TARGET_FILE:hearwood>;HEARWOOD_SOURCE_DIR=${CMAKE_SOURCE_DIR}")
add_test(NAME activity_trial_check COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/activity/trial_check.py)
set_tests_properties(activity_trial_check PROPERTIES ENVIRONMENT
  "HEARWOOD_BINARY=$<TARGET_FILE:hearwood>;HEARWOOD_SOURCE_DIR=${CMAKE_SOURCE_DIR}")
