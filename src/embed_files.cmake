# hearwood_embed(LAYER HEADER NAME FILE [NAME FILE ...]): the files become bytes of the layer, under names that its HEADER declares
# as extern const std::string_view.
function(hearwood_embed layer header)
  set(names "")
  set(files "")
  set(rest ${ARGN})
  while(rest)
    list(POP_FRONT rest name file)
    list(APPEND names ${name})
    list(APPEND files ${file})
  endwhile()
  list(JOIN names "|" names_arg)
  list(JOIN files "|" files_arg)
  string(MAKE_C_IDENTIFIER ${header} stem)
  set(made ${CMAKE_BINARY_DIR}/generated/${stem}_files.cpp)
  add_custom_command(
    OUTPUT ${made}
    COMMAND ${CMAKE_COMMAND} -DOUTPUT=${made} -DHEADER=${header} "-DNAMES=${names_arg}" "-DFILES=${files_arg}"
            -P ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
    DEPENDS ${files} ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
    COMMENT "Embedding files of ${layer}"
    VERBATIM)
  target_sources(${layer} PRIVATE ${made})
endfunction()
