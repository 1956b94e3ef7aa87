# Counting ranks is the one loop here that costs time; -O3 lays the bands of a block side by side in vector registers.
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/screen/blocks.cpp PROPERTIES COMPILE_OPTIONS -O3)
