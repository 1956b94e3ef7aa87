# What the tests that look at pages drive a browser with (Debian's Chromium), out of a lock file of its own.
if(NOT HEARWOOD_BROWSER_TESTS)
  return()
endif()
set(HEARWOOD_BROWSER ${CMAKE_BINARY_DIR}/browser)
hearwood_npm(${folder} ${HEARWOOD_BROWSER})
add_custom_target(browser_tools ALL DEPENDS ${HEARWOOD_BROWSER}/npm.stamp)
