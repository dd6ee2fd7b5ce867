# Puts the scripts and what they need, as package-lock.json pins it, into a folder; nothing is fetched twice.
#
#     cmake -DFROM=<tests/web> -DTO=<folder> -DNPM=<npm> -P fetch.cmake
file(GLOB files ${FROM}/*.mjs ${FROM}/package.json ${FROM}/package-lock.json)
file(COPY ${files} DESTINATION ${TO})
file(SHA256 ${FROM}/package-lock.json wanted)
set(there "")
if(EXISTS ${TO}/fetched)
  file(READ ${TO}/fetched there)
endif()
if(NOT there STREQUAL wanted)
  execute_process(COMMAND ${NPM} ci --ignore-scripts --no-audit --no-fund WORKING_DIRECTORY ${TO} COMMAND_ERROR_IS_FATAL ANY)
  file(WRITE ${TO}/fetched ${wanted})
endif()
