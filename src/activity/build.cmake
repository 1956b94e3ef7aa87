# What is done to every sample on even terms: -O3 lays these loops out in vector registers.
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/activity/even_measurer.cpp
  ${CMAKE_CURRENT_SOURCE_DIR}/activity/noise.cpp PROPERTIES COMPILE_OPTIONS -O3)
