# Runs a check on a small tree made for it and compares every line that it says on standard error with a file.
#
#     cmake -DEXPECTED=<file> -P expect.cmake -- command...
#
# The check must fail if the file has lines, and pass if it is empty. CMake's own "CMake Error at ..." lines are left
# out: the lines before them say what is wrong.
cmake_minimum_required(VERSION 3.25)

set(command "")
set(is_command FALSE)
math(EXPR last "${CMAKE_ARGC} - 1")
foreach(i RANGE ${last})
  if(is_command)
    list(APPEND command ${CMAKE_ARGV${i}})
  elseif(CMAKE_ARGV${i} STREQUAL "--")
    set(is_command TRUE)
  endif()
endforeach()

execute_process(COMMAND ${command} RESULT_VARIABLE status OUTPUT_QUIET ERROR_VARIABLE said)
string(REGEX REPLACE "(^|\n)CMake Error.*" "\\1" said "${said}")
file(READ ${EXPECTED} expected)

if(NOT said STREQUAL expected)
  message("expected:\n${expected}\nsaid:\n${said}")
  message(FATAL_ERROR "the check says something else")
endif()
if(expected STREQUAL "" AND NOT status EQUAL 0)
  message(FATAL_ERROR "should have passed, status ${status}")
elseif(NOT expected STREQUAL "" AND status EQUAL 0)
  message(FATAL_ERROR "should have failed")
endif()
