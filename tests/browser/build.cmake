# What the page that measures makes of a recording, without a browser.
add_executable(print_lone ${folder}/print_lone.cpp)
target_compile_options(print_lone PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(print_lone PRIVATE browser)
add_test(NAME browser_lone_recording COMMAND /usr/bin/python3 ${folder}/lone_check.py $<TARGET_FILE:hearwood>
         $<TARGET_FILE:print_lone> ${CMAKE_SOURCE_DIR}/sample-audio)

# What the tests that look at pages drive a browser with (Debian's Chromium), out of a lock file of its own.
if(NOT HEARWOOD_BROWSER_TESTS)
  return()
endif()
set(HEARWOOD_BROWSER ${CMAKE_BINARY_DIR}/browser)
hearwood_npm(${folder} ${HEARWOOD_BROWSER})
add_custom_target(browser_tools ALL DEPENDS ${HEARWOOD_BROWSER}/npm.stamp)
add_test(NAME browser_measure_page
         COMMAND ${HEARWOOD_NODE} ${folder}/stand_in_test.mjs ${CMAKE_SOURCE_DIR} ${HEARWOOD_BROWSER})
set_tests_properties(browser_measure_page PROPERTIES TIMEOUT 600 COST 30)
