# What `cmake --install` brings, and the Debian package made of it.
include(CMakePackageConfigHelpers)

install(TARGETS slowmatch_shared EXPORT slowmatchTargets)
install(TARGETS slowmatch EXPORT slowmatchStaticTargets)
install(TARGETS slowmatch_cli)
if(SM_WEB)
  install(TARGETS slowmatch_workbench)
endif()
if(MPI_C_FOUND)
  install(TARGETS slowmatch_ranks COMPONENT ranks)
endif()
install(DIRECTORY ${CMAKE_SOURCE_DIR}/include/slowmatch TYPE INCLUDE)
install(DIRECTORY ${CMAKE_SOURCE_DIR}/propellants ${CMAKE_SOURCE_DIR}/examples
        DESTINATION ${CMAKE_INSTALL_DATADIR}/slowmatch FILES_MATCHING PATTERN "*.json" PATTERN "*.csv" PATTERN "*.mustache"
                       PATTERN "*.svg" PATTERN "*.stl" PATTERN "fly.c" PATTERN "make_firings.c" PATTERN "embed.*")
# the pages stand beside the examples as they do in the project, so that their links lead somewhere
install(DIRECTORY ${CMAKE_SOURCE_DIR}/docs DESTINATION ${CMAKE_INSTALL_DATADIR}/slowmatch)
install(FILES ${CMAKE_SOURCE_DIR}/README.md ${CMAKE_SOURCE_DIR}/DEVELOPERS.md ${CMAKE_SOURCE_DIR}/LICENSE
        DESTINATION ${CMAKE_INSTALL_DATADIR}/slowmatch)
install(DIRECTORY ${pages}/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 FILES_MATCHING PATTERN "*.1")
find_program(SM_GZIP gzip)
if(SM_GZIP) # as the distribution keeps them
  install(CODE "file(GLOB manual \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_MANDIR}/man1/slowmatch*.1\")
    execute_process(COMMAND ${SM_GZIP} -9nf \${manual} COMMAND_ERROR_IS_FATAL ANY)")
endif()
install(FILES ${pages}/slowmatch.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
        RENAME slowmatch)
install(FILES ${pages}/_slowmatch DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(FILES ${pages}/slowmatch.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)

# For programs that link the library: find_package(slowmatch) and pkg-config.
set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/slowmatch)
foreach(kind slowmatchTargets slowmatchStaticTargets)
  install(EXPORT ${kind} NAMESPACE slowmatch:: DESTINATION ${config_folder})
endforeach()
configure_package_config_file(${CMAKE_SOURCE_DIR}/src/cmake/slowmatchConfig.cmake.in
  ${CMAKE_BINARY_DIR}/slowmatchConfig.cmake INSTALL_DESTINATION ${config_folder})
write_basic_package_version_file(${CMAKE_BINARY_DIR}/slowmatchConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${CMAKE_BINARY_DIR}/slowmatchConfig.cmake ${CMAKE_BINARY_DIR}/slowmatchConfigVersion.cmake
        DESTINATION ${config_folder})
# How the prefix is reached from the folder of the .pc file, so that both can move together.
file(RELATIVE_PATH SM_UP_TO_PREFIX ${CMAKE_INSTALL_FULL_LIBDIR} ${CMAKE_INSTALL_PREFIX})
configure_file(${CMAKE_SOURCE_DIR}/src/cmake/slowmatch.pc.in ${CMAKE_BINARY_DIR}/slowmatch.pc @ONLY)
install(FILES ${CMAKE_BINARY_DIR}/slowmatch.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)

# The Debian package: cpack -G DEB in the build folder. One package holds command, library and headers, so that one file is all
# that is needed; debian/lintian-overrides says which habits of the distribution's own archive that leaves.
set(debian ${CMAKE_SOURCE_DIR}/src/cmake/debian)
configure_file(${debian}/changelog.in ${CMAKE_BINARY_DIR}/debian/changelog @ONLY)
if(SM_GZIP)
  add_custom_command(OUTPUT ${CMAKE_BINARY_DIR}/debian/changelog.gz
    COMMAND ${SM_GZIP} -9nkf ${CMAKE_BINARY_DIR}/debian/changelog DEPENDS ${CMAKE_BINARY_DIR}/debian/changelog VERBATIM)
  add_custom_target(slowmatch_package_papers ALL DEPENDS ${CMAKE_BINARY_DIR}/debian/changelog.gz)
  install(FILES ${CMAKE_BINARY_DIR}/debian/changelog.gz DESTINATION ${CMAKE_INSTALL_DOCDIR})
endif()
install(FILES ${debian}/copyright DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES ${debian}/lintian-overrides DESTINATION ${CMAKE_INSTALL_DATADIR}/lintian/overrides RENAME slowmatch)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME slowmatch)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
# without slowmatch-ranks, which would bring all of MPI along
set(CPACK_INSTALL_CMAKE_PROJECTS "${CMAKE_BINARY_DIR};slowmatch;Unspecified;/")
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_MAINTAINER "Slowmatch maintainers <maintainers@slowmatch.invalid>")
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "solid-motor grain and thrust-curve design calculator")
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION
"Predicts thrust, pressure, mass properties and impulse class of a solid
rocket motor from its grain, propellant (as ballistic numbers), nozzle and
case; tells how far to trust that; reduces static firings; sizes grains; and
judges whether a vehicle can lift, hover and land on the curve.
.
It predicts; it does not certify. It holds no formulations.")
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS ON)
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA ${debian}/triggers)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
include(CPack)
