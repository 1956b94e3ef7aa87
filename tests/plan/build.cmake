add_test(NAME plan_and_init_commands
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_SOURCE_DIR}/plan/plan_command_test.py $<TARGET_FILE:hearwood>)
