# Loaded into other programs; it must not carry our sanitizers.
add_library(fault_library MODULE ${folder}/fault_library.cpp)
target_compile_options(fault_library PRIVATE -Wall -Wextra -Werror)
target_link_libraries(fault_library PRIVATE dl)
set_target_properties(fault_library PROPERTIES PREFIX "")
