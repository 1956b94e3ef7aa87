add_executable(screen_quantities ${CMAKE_CURRENT_LIST_DIR}/print_quantities.cpp)
target_compile_options(screen_quantities PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(screen_quantities PRIVATE screen)

add_test(NAME screen_reference
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/compare.py $<TARGET_FILE:screen_quantities>)
add_test(NAME screen_real_sounds
  COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/evaluate.py $<TARGET_FILE:screen_quantities> --short)
