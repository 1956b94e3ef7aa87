# What a processor that lacks an instruction says: the program raises the signal that such a processor sends.
add_executable(illegal_instruction ${folder}/illegal_instruction.cpp)
target_link_libraries(illegal_instruction PRIVATE platform)
add_test(NAME platform_illegal_instruction COMMAND illegal_instruction)
set_tests_properties(platform_illegal_instruction PROPERTIES
  PASS_REGULAR_EXPRESSION "this processor lacks an instruction that hearwood was built with; use the release file")
