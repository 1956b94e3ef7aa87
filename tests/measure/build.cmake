# A disk that cannot read a certain place, for program_test.cpp.
add_library(failing_read SHARED ${CMAKE_CURRENT_SOURCE_DIR}/measure/failing_read.cpp)
target_link_libraries(failing_read PRIVATE ${CMAKE_DL_LIBS})
add_dependencies(test_measure failing_read hearwood)
target_compile_definitions(test_measure PRIVATE HEARWOOD_FAILING_READ="$<TARGET_FILE:failing_read>")
