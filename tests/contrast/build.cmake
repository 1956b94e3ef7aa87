# Checks against R, computed independently (r-base-core is in tests/packages.txt).
find_program(RSCRIPT Rscript REQUIRED)
add_test(NAME contrast_worked_sets
  COMMAND ${RSCRIPT} ${folder}/worked_sets.R $<TARGET_FILE:hearwood> ${folder}/worked_sets
          ${CMAKE_CURRENT_BINARY_DIR}/contrast_worked_sets)

add_executable(contrast_driver ${folder}/driver.cpp)
target_compile_options(contrast_driver PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(contrast_driver PRIVATE contrast)
add_dependencies(test_contrast contrast_driver)
add_test(NAME contrast_inference
  COMMAND ${RSCRIPT} ${folder}/inference.R $<TARGET_FILE:contrast_driver>
          ${CMAKE_CURRENT_BINARY_DIR}/contrast_inference)
add_test(NAME contrast_survey
  COMMAND /usr/bin/python3 ${folder}/survey_test.py $<TARGET_FILE:hearwood>
          ${CMAKE_SOURCE_DIR}/docs/read-in-r-and-python ${CMAKE_CURRENT_BINARY_DIR}/contrast_survey)
add_test(NAME contrast_sheets
  COMMAND ${RSCRIPT} ${folder}/sheets.R $<TARGET_FILE:hearwood> ${CMAKE_CURRENT_BINARY_DIR}/contrast_sheets)

# Rates of null surveys, as docs/statistics.md prints them.
add_executable(contrast_rates ${folder}/rates.cpp)
target_compile_options(contrast_rates PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(contrast_rates PRIVATE contrast)
add_dependencies(test_contrast contrast_rates)
add_test(NAME contrast_rates COMMAND contrast_rates ${CMAKE_SOURCE_DIR}/docs/statistics.md)
