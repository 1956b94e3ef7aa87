# The same tests once more on the path for any processor.
add_test(NAME index_baseline COMMAND test_index)
set_tests_properties(index_baseline PROPERTIES ENVIRONMENT HEARWOOD_CPU=baseline)
