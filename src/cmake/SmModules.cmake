# Helpers of the build: compile flags, libraries, registries.

# Those that pkg-config knows; what is installed names them too.
set(SM_PKG_MODULES gsl libcjson libxml-2.0 cairo libzip)
list(JOIN SM_PKG_MODULES " " SM_PKG_WORDS)

function(sm_find_libraries)
  find_package(PkgConfig REQUIRED)
  foreach(module ${SM_PKG_MODULES})
    string(MAKE_C_IDENTIFIER ${module} id)
    pkg_check_modules(${id} REQUIRED IMPORTED_TARGET GLOBAL ${module})
  endforeach()
  find_package(OpenMP COMPONENTS C) # without it everything runs on one thread
  set(OpenMP_C_FOUND ${OpenMP_C_FOUND} PARENT_SCOPE)
  set(OpenMP_C_FLAGS ${OpenMP_C_FLAGS} PARENT_SCOPE)
  find_package(MPI COMPONENTS C) # without it there is no slowmatch-ranks
  set(MPI_C_FOUND ${MPI_C_FOUND} PARENT_SCOPE)
  find_path(SM_UDUNITS_INCLUDE udunits2.h PATH_SUFFIXES udunits2 REQUIRED)
  find_library(SM_UDUNITS udunits2 REQUIRED)
endfunction()

# Everything we compile: warnings, sanitizers, and arithmetic that compilers agree on.
function(sm_flags target)
  target_compile_definitions(${target} PRIVATE _XOPEN_SOURCE=700)
  target_compile_options(${target} PRIVATE
    -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wdouble-promotion -Wstrict-prototypes -Wmissing-prototypes
    -Wcast-qual -Wwrite-strings -Wundef -Wvla -ffp-contract=off -fvisibility=hidden
    $<$<BOOL:${SM_WERROR}>:-Werror>
    $<$<BOOL:${SM_COVERAGE}>:--coverage>)
  target_link_options(${target} PRIVATE $<$<BOOL:${SM_COVERAGE}>:--coverage>)
  if(SM_SANITIZE)
    target_compile_options(${target} PRIVATE -fsanitize=${SM_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PRIVATE -fsanitize=${SM_SANITIZE})
    target_compile_definitions(${target} PRIVATE SM_ARENA_DEBUG)
  endif()
endfunction()

# Every file in folder defines one row, <prefix>_<file>, of type struct <prefix>; this writes the array
# <prefix>_list of them all, in order of file name, NULL at the end. A new file is noticed by the next build.
function(sm_registry target prefix folder)
  file(GLOB files CONFIGURE_DEPENDS RELATIVE ${CMAKE_SOURCE_DIR}/${folder} ${CMAKE_SOURCE_DIR}/${folder}/*.c)
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
