add_test(NAME layers COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/check_layers.py ${CMAKE_SOURCE_DIR})
