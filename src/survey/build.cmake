# Zone data of the program's own, where the build gives some.
if(HEARWOOD_ZONES_TAR)
  set_source_files_properties(${CMAKE_CURRENT_SOURCE_DIR}/survey/zone_data.cpp PROPERTIES
    COMPILE_DEFINITIONS "HEARWOOD_ZONES_TAR=\"${HEARWOOD_ZONES_TAR}\"" OBJECT_DEPENDS ${HEARWOOD_ZONES_TAR})
endif()
