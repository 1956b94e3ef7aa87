# The page's script and style: esbuild bundles them (Observable Plot among them) from what
# web/package-lock.json pins, and the bundle becomes bytes of the program. Nothing of it lands in the
# source tree: node_modules and the bundle live in the build folder. Once `npm ci` has run there, a build
# needs no network until the lock changes.
find_program(HEARWOOD_NPM npm)
find_program(HEARWOOD_NODE NAMES node nodejs)
if(NOT HEARWOOD_NPM OR NOT HEARWOOD_NODE)
  message(FATAL_ERROR "src/report: npm and node are needed to build the page and were not found; "
                      "run sh tests/run.sh, or install Debian's nodejs and npm")
endif()

set(web_source ${CMAKE_CURRENT_LIST_DIR}/web)
set(web_build ${CMAKE_BINARY_DIR}/web)
file(GLOB web_scripts CONFIGURE_DEPENDS ${web_source}/*.js)
file(GLOB web_styles CONFIGURE_DEPENDS ${web_source}/*.css)

# --ignore-scripts: no package runs code of its own at install time.
add_custom_command(
  OUTPUT ${web_build}/npm.stamp
  COMMAND ${CMAKE_COMMAND} -E make_directory ${web_build}
  COMMAND ${CMAKE_COMMAND} -E copy ${web_source}/package.json ${web_source}/package-lock.json ${web_build}
  COMMAND ${HEARWOOD_NPM} ci --prefix ${web_build} --include=dev --ignore-scripts
          --prefer-offline --no-audit --no-fund --loglevel=error
  COMMAND ${CMAKE_COMMAND} -E touch ${web_build}/npm.stamp
  DEPENDS ${web_source}/package.json ${web_source}/package-lock.json
  WORKING_DIRECTORY ${CMAKE_BINARY_DIR}
  COMMENT "Fetching what the page's script is built from (npm ci)"
  VERBATIM)

add_custom_command(
  OUTPUT ${web_build}/page.js ${web_build}/page.css
  COMMAND ${HEARWOOD_NODE} ${web_source}/bundle.cjs ${web_source} ${web_build}
  DEPENDS ${web_build}/npm.stamp ${web_scripts} ${web_styles} ${web_source}/bundle.cjs
  COMMENT "Bundling the page's script and style"
  VERBATIM)

add_custom_command(
  OUTPUT ${web_build}/web_bundle.cpp
  COMMAND ${CMAKE_COMMAND} -DOUTPUT=${web_build}/web_bundle.cpp -DHEADER=report/web_bundle.h
          "-DNAMES=kPageScript|kPageStyle" "-DFILES=${web_build}/page.js|${web_build}/page.css"
          -P ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  DEPENDS ${web_build}/page.js ${web_build}/page.css ${CMAKE_CURRENT_SOURCE_DIR}/embed.cmake
  COMMENT "Embedding the page's script and style"
  VERBATIM)
target_sources(report PRIVATE ${web_build}/web_bundle.cpp)
