# hearwood_npm(SOURCE BUILD): a rule that fetches what SOURCE/package-lock.json pins into BUILD/node_modules; BUILD/npm.stamp
# is there when that is done. Nothing of it lands in the source tree, and no network is needed until the lock changes.
find_program(HEARWOOD_NPM npm)
find_program(HEARWOOD_NODE NAMES node nodejs)

function(hearwood_npm source build)
  if(NOT HEARWOOD_NPM OR NOT HEARWOOD_NODE)
    message(FATAL_ERROR "npm and node are needed for what ${source}/package.json names, and were not found; "
                        "run sh tests/run.sh, or install Debian's nodejs and npm")
  endif()
  # --ignore-scripts: no package runs code of its own at install time.
  add_custom_command(
    OUTPUT ${build}/npm.stamp
    COMMAND ${CMAKE_COMMAND} -E make_directory ${build}
    COMMAND ${CMAKE_COMMAND} -E copy ${source}/package.json ${source}/package-lock.json ${build}
    COMMAND ${HEARWOOD_NPM} ci --prefix ${build} --include=dev --ignore-scripts
            --prefer-offline --no-audit --no-fund --loglevel=error
    COMMAND ${CMAKE_COMMAND} -E touch ${build}/npm.stamp
    DEPENDS ${source}/package.json ${source}/package-lock.json
    WORKING_DIRECTORY ${CMAKE_BINARY_DIR}
    COMMENT "Fetching what ${source}/package-lock.json pins (npm ci)"
    VERBATIM)
endfunction()
