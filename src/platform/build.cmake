if(HEARWOOD_STATIC)
  target_compile_definitions(platform PRIVATE HEARWOOD_STATIC)
endif()
