# What `cmake --install` and the Debian package put where.
include(GNUInstallDirs)

set(generated ${CMAKE_BINARY_DIR}/generated/reference)
add_custom_command(
  OUTPUT ${generated}/hearwood.bash ${generated}/_hearwood ${generated}/commands.md ${generated}/man/hearwood.1
  COMMAND ${CMAKE_COMMAND} -E make_directory ${generated}/man
  COMMAND hearwood-reference bash > ${generated}/hearwood.bash
  COMMAND hearwood-reference zsh > ${generated}/_hearwood
  COMMAND hearwood-reference markdown > ${generated}/commands.md
  COMMAND hearwood-reference man ${generated}/man
  DEPENDS hearwood-reference
  VERBATIM)
add_custom_target(reference ALL DEPENDS ${generated}/commands.md)

install(TARGETS hearwood RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(DIRECTORY ${generated}/man/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 FILES_MATCHING PATTERN "*.1")
install(FILES ${generated}/hearwood.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
        RENAME hearwood)
install(FILES ${generated}/_hearwood DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
# Beside the README as in the tree, so that its links lead somewhere there too.
install(DIRECTORY ${CMAKE_SOURCE_DIR}/docs DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES ${CMAKE_SOURCE_DIR}/README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES ${CMAKE_SOURCE_DIR}/COPYING DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME copyright)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME hearwood)
set(CPACK_PACKAGE_VENDOR "Hearwood maintainers")
set(CPACK_PACKAGE_CONTACT "Hearwood maintainers <maintainers@localhost>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY ${PROJECT_DESCRIPTION})
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_DEPENDS "tzdata, ${HEARWOOD_NETCDF_PACKAGE}")  # loaded, not linked: src/export/build.cmake
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)

# The source package (cpack --config CPackSourceConfig.cmake, after a build) brings the page's bundle along: it builds
# without npm and without a network.
install(DIRECTORY ${HEARWOOD_WEB_BUNDLE}/ DESTINATION src/report/web/bundle COMPONENT source_package EXCLUDE_FROM_ALL)
string(REGEX REPLACE "([][.+*?()^$|\\\\])" "\\\\\\1" source_pattern ${CMAKE_SOURCE_DIR})
set(CPACK_VERBATIM_VARIABLES ON)
set(CPACK_SOURCE_GENERATOR TXZ)
set(CPACK_SOURCE_PACKAGE_FILE_NAME hearwood-${PROJECT_VERSION})
set(CPACK_SOURCE_INSTALL_CMAKE_PROJECTS "${CMAKE_BINARY_DIR};${PROJECT_NAME};source_package;/")
set(CPACK_SOURCE_IGNORE_FILES "/\\.git(/|$)" "/node_modules/" "/__pycache__/" "^${source_pattern}/build[^/]*/")
include(CPack)
