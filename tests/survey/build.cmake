add_executable(sun_table survey/sun_table.cpp)
target_compile_options(sun_table PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(sun_table PRIVATE survey)
add_test(NAME survey_sun_against_ephem
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/survey/sun_test.py $<TARGET_FILE:sun_table>)
