# Helpers of the build: compile flags, libraries, registries.

# Those that pkg-config knows; what is installed names them too.
set(SM_PKG_MODULES gsl libcjson libxml-2.0 cairo libzip nlopt)

function(sm_find_libraries)
  find_package(PkgConfig REQUIRED)
  foreach(module ${SM_PKG_MODULES})
    string(MAKE_C_IDENTIFIER ${module} id)
    pkg_check_modules(${id} REQUIRED IMPORTED_TARGET GLOBAL ${module})
    foreach(library ${${id}_LIBRARIES})
      string(APPEND link " -l${library}")
    endforeach()
  endforeach()
  set(SM_PKG_LINK ${link} PARENT_SCOPE)
  find_package(OpenMP COMPONENTS C) # without it everything runs on one thread
  set(OpenMP_C_FOUND ${OpenMP_C_FOUND} PARENT_SCOPE)
  set(OpenMP_C_FLAGS ${OpenMP_C_FLAGS} PARENT_SCOPE)
  find_package(MPI COMPONENTS C) # without it there is no slowmatch-ranks
  set(MPI_C_FOUND ${MPI_C_FOUND} PARENT_SCOPE)
  pkg_check_modules(libmicrohttpd IMPORTED_TARGET GLOBAL libmicrohttpd) # without it there is no workbench
  set(libmicrohttpd_FOUND ${libmicrohttpd_FOUND} PARENT_SCOPE)
  find_package(Threads REQUIRED)
  find_path(SM_UDUNITS_INCLUDE udunits2.h PATH_SUFFIXES udunits2 REQUIRED)
  find_library(SM_UDUNITS udunits2 REQUIRED)
endfunction()

# Everything we compile: warnings, sanitizers, and arithmetic that compilers agree on.
function(sm_flags target)
  target_compile_definitions(${target} PRIVATE _XOPEN_SOURCE=700)
  target_compile_options(${target} PRIVATE
    -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wdouble-promotion -Wstrict-prototypes -Wmissing-prototypes
    -Wcast-qual -Wwrite-strings -Wundef -Wvla -ffp-contract=off -fvisibility=hidden
    $<$<BOOL:${SM_WERROR}>:-Werror>)
  if(SM_COVERAGE) # clang's; counts of every program are kept in coverage/, by all its runs together
    target_compile_options(${target} PRIVATE -fprofile-instr-generate=${CMAKE_BINARY_DIR}/coverage/%m.profraw -fcoverage-mapping)
    target_link_options(${target} PRIVATE -fprofile-instr-generate=${CMAKE_BINARY_DIR}/coverage/%m.profraw)
  endif()
  if(SM_SANITIZE)
    target_compile_options(${target} PRIVATE -fsanitize=${SM_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PRIVATE -fsanitize=${SM_SANITIZE})
    target_compile_definitions(${target} PRIVATE SM_ARENA_DEBUG)
  endif()
endfunction()

# Every file in folder defines one row, <prefix>_<file>, of type struct <prefix>; this writes the array
# <prefix>_list of them all, in order of file name, NULL at the end. A new file is noticed by the next build. EXCEPT names
# files that are left out.
function(sm_registry target prefix folder)
  cmake_parse_arguments(PARSE_ARGV 3 arg "" "" EXCEPT)
  file(GLOB files CONFIGURE_DEPENDS RELATIVE ${CMAKE_SOURCE_DIR}/${folder} ${CMAKE_SOURCE_DIR}/${folder}/*.c)
  if(arg_EXCEPT)
    list(REMOVE_ITEM files ${arg_EXCEPT})
  endif()
  list(SORT files)
  set(externs "")
  set(rows "")
  foreach(file ${files})
    string(REGEX REPLACE "\\.c$" "" stem ${file})
    string(APPEND externs "extern const struct ${prefix} ${prefix}_${stem};\n")
    string(APPEND rows "    &${prefix}_${stem},\n")
    target_sources(${target} PRIVATE ${CMAKE_SOURCE_DIR}/${folder}/${file})
  endforeach()
  set(out ${CMAKE_BINARY_DIR}/generated/${prefix}_list.c)
  file(CONFIGURE OUTPUT ${out} CONTENT
"/* Generated from the files in ${folder}. */
struct ${prefix};
${externs}
extern const struct ${prefix} *const ${prefix}_list[];
const struct ${prefix} *const ${prefix}_list[] = {
${rows}    0,
};
" @ONLY)
  target_sources(${target} PRIVATE ${out})
endfunction()

# Keeps the bytes of a file in a target, as const array <name> and its size <name>_size. Further arguments: what makes it.
function(sm_embed target name file)
  set(out ${CMAKE_BINARY_DIR}/generated/${name}.c)
  add_custom_command(OUTPUT ${out}
    COMMAND ${CMAKE_COMMAND} -DFILE=${file} -DNAME=${name} -DOUT=${out} -P ${CMAKE_SOURCE_DIR}/src/cmake/SmEmbed.cmake
    DEPENDS ${file} ${ARGN} ${CMAKE_SOURCE_DIR}/src/cmake/SmEmbed.cmake VERBATIM)
  target_sources(${target} PRIVATE ${out})
endfunction()

# The folder of a unit's library: FMI 2.0's own names where it has one, else the pair that FMI 3.0 defines.
function(sm_unit_platform variable)
  string(TOLOWER "${CMAKE_SYSTEM_PROCESSOR}-${CMAKE_SYSTEM_NAME}" platform)
  string(REGEX REPLACE "^(x86_64|amd64)-linux$" "linux64" platform ${platform})
  string(REGEX REPLACE "^i.86-linux$" "linux32" platform ${platform})
  string(REGEX REPLACE "^(x86_64|amd64)-darwin$" "darwin64" platform ${platform})
  set(${variable} ${platform} PARENT_SCOPE)
endfunction()

# Fetches what pages embed, as src/report/pages/package-lock.json pins it, into the build folder: sets SM_PAGES. Where there is
# no npm, or nothing can be fetched, pages alone fall away.
function(sm_fetch_pages)
  set(folder ${CMAKE_BINARY_DIR}/pages_npm)
  set(from ${CMAKE_SOURCE_DIR}/src/report/pages)
  set(SM_PAGES OFF PARENT_SCOPE)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${from}/package.json ${from}/package-lock.json)
  find_program(SM_NPM npm)
  if(NOT SM_NPM)
    message(WARNING "npm was not found, so report, lesson and workbench are left out; all else is built")
    return()
  endif()
  file(SHA256 ${from}/package-lock.json wanted)
  set(there "")
  if(EXISTS ${folder}/fetched)
    file(READ ${folder}/fetched there)
  endif()
  if(NOT there STREQUAL wanted)
    configure_file(${from}/package.json ${folder}/package.json COPYONLY)
    configure_file(${from}/package-lock.json ${folder}/package-lock.json COPYONLY)
    execute_process(COMMAND ${SM_NPM} ci --ignore-scripts --no-audit --no-fund WORKING_DIRECTORY ${folder}
                    RESULT_VARIABLE code OUTPUT_VARIABLE said ERROR_VARIABLE said)
    if(NOT code EQUAL 0)
      message(WARNING "npm could not fetch what pages embed, so report, lesson and workbench are left out:\n${said}")
      return()
    endif()
    file(WRITE ${folder}/fetched ${wanted})
  endif()
  set(SM_PAGES ON PARENT_SCOPE)
endfunction()

# Puts the parts of pages into a target, where they were fetched; each is an array sm_page_<part>.
function(sm_embed_pages target)
  if(NOT SM_PAGES)
    return()
  endif()
  set(dist ${CMAKE_BINARY_DIR}/pages_npm/node_modules/uplot/dist)
  sm_embed(${target} sm_page_plot_library ${dist}/uPlot.iife.min.js)
  sm_embed(${target} sm_page_plot_sheet ${dist}/uPlot.min.css)
  foreach(part common.css plot.js report.js lesson.js)
    cmake_path(GET part STEM stem)
    cmake_path(GET part EXTENSION ending)
    string(REPLACE .css _sheet ending ${ending})
    string(REPLACE .js _code ending ${ending})
    sm_embed(${target} sm_page_${stem}${ending} ${CMAKE_SOURCE_DIR}/src/report/pages/${part})
  endforeach()
  target_compile_definitions(${target} PRIVATE SM_PAGES)
endfunction()
