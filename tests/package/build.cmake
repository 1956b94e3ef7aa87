# What `cmake --install` and the Debian package bring; needs a finished build. On other systems than Debian the
# package's part is left out.
add_test(NAME package_contents
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/package_check.py ${CMAKE_COMMAND} ${CMAKE_BINARY_DIR})
