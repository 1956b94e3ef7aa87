# The additive model against numpy and R.
add_executable(additive_driver ${folder}/additive_driver.cpp)
target_compile_options(additive_driver PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(additive_driver PRIVATE statistics)
add_dependencies(test_statistics additive_driver)
add_test(NAME statistics_additive_numpy
  COMMAND /usr/bin/python3 ${folder}/additive_model.py $<TARGET_FILE:additive_driver>
          ${CMAKE_CURRENT_BINARY_DIR}/additive_numpy)
find_program(RSCRIPT Rscript REQUIRED)
add_test(NAME statistics_additive_lm
  COMMAND ${RSCRIPT} ${folder}/additive_model.R $<TARGET_FILE:additive_driver>
          ${CMAKE_CURRENT_BINARY_DIR}/additive_lm)
