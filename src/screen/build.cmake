# Ranks within a block and quantiles over a segment are the loops here that cost time; -O3 lays them out in vector registers.
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/screen/blocks.cpp ${CMAKE_CURRENT_SOURCE_DIR}/screen/rhythm.cpp
  PROPERTIES COMPILE_OPTIONS -O3)
