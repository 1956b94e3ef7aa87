# The NetCDF library is loaded by its name when it is needed (netcdf_late.h): found here, not linked, but in the program that
# needs no library.
if(HEARWOOD_STATIC)
  target_compile_definitions(export PRIVATE HEARWOOD_NETCDF_LINKED)
  target_link_libraries(export PUBLIC PkgConfig::NETCDF)
else()
  find_library(NETCDF_FILE netcdf REQUIRED HINTS ${NETCDF_LIBRARY_DIRS})
  file(READ_SYMLINK ${NETCDF_FILE} netcdf_soname)
  string(REGEX MATCH "[^/]*\\.so\\.([0-9]+)" netcdf_soname ${netcdf_soname})
  set(HEARWOOD_NETCDF_PACKAGE libnetcdf${CMAKE_MATCH_1} CACHE INTERNAL "Debian package of that library")
endif()
set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/export/netcdf_late.cpp PROPERTIES COMPILE_DEFINITIONS
  "HEARWOOD_NETCDF_LIBRARY=\"${netcdf_soname}\";HEARWOOD_NETCDF_PACKAGE=\"${HEARWOOD_NETCDF_PACKAGE}\"")
target_include_directories(export PRIVATE ${NETCDF_INCLUDE_DIRS})
