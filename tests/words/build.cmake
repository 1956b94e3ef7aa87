add_test(NAME words_files COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/files_check.py ${CMAKE_SOURCE_DIR} ${CMAKE_COMMAND})
