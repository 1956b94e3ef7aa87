# The whole round through the real program and a headless browser.
add_test(NAME listen_round_trip
  COMMAND /usr/bin/python3 ${folder}/round_trip.py $<TARGET_FILE:hearwood> ${HEARWOOD_NODE} ${CMAKE_BINARY_DIR}/web)
set_tests_properties(listen_round_trip PROPERTIES TIMEOUT 300)
