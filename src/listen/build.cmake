# The listening page's script and style become bytes of the program.
set(listen_web ${CMAKE_CURRENT_LIST_DIR}/web)
set(listen_bundle ${CMAKE_BINARY_DIR}/generated/listen_web.cpp)
add_custom_command(
  OUTPUT ${listen_bundle}
  COMMAND ${CMAKE_COMMAND} -DOUTPUT=${listen_bundle} -DHEADER=listen/page.h "-DNAMES=kListenScript|kListenStyle"
          "-DFILES=${listen_web}/listen.js|${listen_web}/listen.css" -P ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  DEPENDS ${listen_web}/listen.js ${listen_web}/listen.css ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  COMMENT "Embedding the listening page's script and style"
  VERBATIM)
target_sources(listen PRIVATE ${listen_bundle})
