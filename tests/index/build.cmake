# The same tests once more on the path for any processor, and on the one without AVX-512.
add_test(NAME index_baseline COMMAND test_index)
set_tests_properties(index_baseline PROPERTIES ENVIRONMENT HEARWOOD_CPU=baseline)
add_test(NAME index_narrow COMMAND test_index)
set_tests_properties(index_narrow PROPERTIES ENVIRONMENT HEARWOOD_CPU=x86-64-v3)
