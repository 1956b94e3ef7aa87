# docs/commands.md says what the program's option tree says; links in the manual lead somewhere.
add_test(NAME reference_commands
         COMMAND ${CMAKE_COMMAND} -E compare_files --ignore-eol ${CMAKE_SOURCE_DIR}/docs/commands.md
                 ${CMAKE_BINARY_DIR}/generated/reference/commands.md)
add_test(NAME reference_tables
         COMMAND sh -c "cp '${CMAKE_SOURCE_DIR}/docs/tables.md' tables.md && '$<TARGET_FILE:hearwood-reference>' tables tables.md && diff '${CMAKE_SOURCE_DIR}/docs/tables.md' tables.md"
         WORKING_DIRECTORY ${CMAKE_BINARY_DIR})
add_test(NAME reference_links
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/check_links.py ${CMAKE_SOURCE_DIR})
add_test(NAME reference_shells
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/shells_check.py ${CMAKE_BINARY_DIR}/generated/reference
                 $<TARGET_FILE:hearwood>)
