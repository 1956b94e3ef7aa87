# Kappa and rank correlation against base R.
add_executable(listen_agreement ${folder}/print_agreement.cpp)
target_compile_options(listen_agreement PRIVATE ${HEARWOOD_WARNINGS})
target_link_libraries(listen_agreement PRIVATE listen)
add_test(NAME listen_agreement_R
  COMMAND Rscript ${folder}/agreement_reference.R $<TARGET_FILE:listen_agreement>)

# Rules that the ear taught, against scipy.
add_test(NAME listen_teach COMMAND /usr/bin/python3 ${folder}/teach_check.py $<TARGET_FILE:hearwood>)

if(HEARWOOD_BROWSER_TESTS)
  # The whole round through the real program and a headless browser.
  add_test(NAME listen_round_trip
    COMMAND /usr/bin/python3 ${folder}/round_trip.py $<TARGET_FILE:hearwood> ${HEARWOOD_NODE} ${HEARWOOD_BROWSER})
  set_tests_properties(listen_round_trip PROPERTIES TIMEOUT 300)

  # Channels and sample rates: what a clip plays, and that its form tells nothing.
  add_test(NAME listen_forms
    COMMAND /usr/bin/python3 ${folder}/forms.py $<TARGET_FILE:hearwood> ${HEARWOOD_NODE} ${HEARWOOD_BROWSER})
  set_tests_properties(listen_forms PROPERTIES TIMEOUT 300)
endif()
