# Makes one firing and compares it with the one that ships.
set(made ${CMAKE_CURRENT_BINARY_DIR}/firing-${SEED}.csv)
execute_process(COMMAND ${MAKE} ${EXAMPLES}/sandpiper-cored.json ${SEED} "4.5 mm/s" 0.36
                OUTPUT_FILE ${made} COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${CMAKE_COMMAND} -E compare_files ${made} ${EXAMPLES}/stand/sandpiper-firing-${SEED}.csv
                COMMAND_ERROR_IS_FATAL ANY)
file(REMOVE ${made})
