# Surveys made by hand, and the page of each looked at in a headless browser.
add_executable(page_fixtures ${folder}/page_fixtures.cpp)
target_compile_options(page_fixtures PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(page_fixtures PRIVATE report measure)
if(HEARWOOD_BROWSER_TESTS)
  add_test(NAME report_page
           COMMAND ${HEARWOOD_NODE} ${folder}/page_test.mjs $<TARGET_FILE:hearwood>
                   $<TARGET_FILE:page_fixtures> ${HEARWOOD_BROWSER})
  set_tests_properties(report_page PROPERTIES TIMEOUT 1800 COST 400)
endif()
add_test(NAME report_commands
         COMMAND /usr/bin/python3 ${folder}/commands_test.py $<TARGET_FILE:hearwood>
                 $<TARGET_FILE:page_fixtures>)
add_test(NAME report_old_results
         COMMAND /usr/bin/python3 ${folder}/old_results_test.py $<TARGET_FILE:hearwood>
                 ${CMAKE_CURRENT_BINARY_DIR}/report_old_results)
