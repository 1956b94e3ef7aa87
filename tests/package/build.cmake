# What `cmake --install` and the Debian package bring; needs a finished build, and Debian's own tools.
add_test(NAME package_contents
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/package_check.py ${CMAKE_COMMAND} ${CMAKE_BINARY_DIR})
