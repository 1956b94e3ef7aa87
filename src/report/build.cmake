# The page's script and style: esbuild bundles them (Observable Plot among them) from what web/package-lock.json pins, and
# the bundle becomes bytes of the program. A source package (src/packaging.cmake) brings the bundle along in web/bundle/: as
# long as the sources beside it are those that it was made of, neither npm nor a network is needed.
set(web_source ${CMAKE_CURRENT_LIST_DIR}/web)
set(web_build ${CMAKE_BINARY_DIR}/web)
file(GLOB web_files CONFIGURE_DEPENDS ${web_source}/*.js ${web_source}/*.css ${web_source}/*.cjs ${web_source}/*.json)
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${web_files})
set(web_sums "")
foreach(file IN LISTS web_files)
  file(SHA256 ${file} sum)
  get_filename_component(name ${file} NAME)
  string(APPEND web_sums "${sum}  ${name}\n")
endforeach()
set(bundled "")
if(EXISTS ${web_source}/bundle/SOURCES)
  file(READ ${web_source}/bundle/SOURCES bundled)
endif()

if(bundled STREQUAL web_sums)
  set(web_bundle ${web_source}/bundle)
else()
  set(web_bundle ${web_build}/bundle)
  hearwood_npm(${web_source} ${web_build})
  file(CONFIGURE OUTPUT ${web_build}/SOURCES CONTENT "${web_sums}" @ONLY)
  add_custom_command(
    OUTPUT ${web_bundle}/page.js ${web_bundle}/page.css ${web_bundle}/SOURCES
    COMMAND ${CMAKE_COMMAND} -E make_directory ${web_bundle}
    COMMAND ${HEARWOOD_NODE} ${web_source}/bundle.cjs ${web_source} ${web_build} ${web_bundle}
    COMMAND ${CMAKE_COMMAND} -E copy ${web_build}/SOURCES ${web_bundle}/SOURCES
    DEPENDS ${web_build}/npm.stamp ${web_build}/SOURCES ${web_files}
    COMMENT "Bundling the page's script and style"
    VERBATIM)
endif()
# What a source package takes along.
set(HEARWOOD_WEB_BUNDLE ${web_bundle} CACHE INTERNAL "")

add_custom_command(
  OUTPUT ${web_build}/web_bundle.cpp
  COMMAND ${CMAKE_COMMAND} -DOUTPUT=${web_build}/web_bundle.cpp -DHEADER=report/web_bundle.h
          "-DNAMES=kPageScript|kPageStyle" "-DFILES=${web_bundle}/page.js|${web_bundle}/page.css"
          -P ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  DEPENDS ${web_bundle}/page.js ${web_bundle}/page.css ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  COMMENT "Embedding the page's script and style"
  VERBATIM)
# A target of its own, so that it waits for no compiler.
add_custom_target(page_bundle DEPENDS ${web_build}/web_bundle.cpp)
target_sources(report PRIVATE ${web_build}/web_bundle.cpp)
hearwood_embed(report report/web_bundle.h kPageTemplate ${web_source}/page.html kSoundsTemplate ${web_source}/sounds.html
               kSummaryTemplate ${web_source}/summary.html)
