# Checks against R, computed independently (r-base-core is in tests/packages.txt).
find_program(RSCRIPT Rscript REQUIRED)
add_test(NAME contrast_worked_sets
  COMMAND ${RSCRIPT} ${folder}/worked_sets.R $<TARGET_FILE:hearwood> ${folder}/worked_sets
          ${CMAKE_CURRENT_BINARY_DIR}/contrast_worked_sets)
