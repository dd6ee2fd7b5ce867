# What `cmake --install` brings, and the Debian package made of it.
include(CMakePackageConfigHelpers)

set_target_properties(slowmatch PROPERTIES VERSION ${PROJECT_VERSION} SOVERSION ${PROJECT_VERSION_MAJOR})
install(TARGETS slowmatch EXPORT slowmatchTargets)
install(TARGETS slowmatch_cli)
if(MPI_C_FOUND)
  install(TARGETS slowmatch_ranks)
endif()
install(DIRECTORY ${CMAKE_SOURCE_DIR}/include/slowmatch TYPE INCLUDE)
install(DIRECTORY ${CMAKE_SOURCE_DIR}/propellants ${CMAKE_SOURCE_DIR}/examples
        DESTINATION ${CMAKE_INSTALL_DATADIR}/slowmatch FILES_MATCHING PATTERN "*.json" PATTERN "*.csv" PATTERN "*.mustache" PATTERN "fly.c")
install(DIRECTORY ${CMAKE_SOURCE_DIR}/docs/schema DESTINATION ${CMAKE_INSTALL_DATADIR}/slowmatch OPTIONAL)
install(DIRECTORY ${pages}/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 FILES_MATCHING PATTERN "*.1")
install(FILES ${pages}/slowmatch.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
        RENAME slowmatch)
install(FILES ${pages}/_slowmatch DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(FILES ${pages}/slowmatch.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)

# For programs that link the library: find_package(slowmatch) and pkg-config.
set(config_folder ${CMAKE_INSTALL_LIBDIR}/cmake/slowmatch)
install(EXPORT slowmatchTargets NAMESPACE slowmatch:: DESTINATION ${config_folder})
configure_package_config_file(${CMAKE_SOURCE_DIR}/src/cmake/slowmatchConfig.cmake.in
  ${CMAKE_BINARY_DIR}/slowmatchConfig.cmake INSTALL_DESTINATION ${config_folder})
write_basic_package_version_file(${CMAKE_BINARY_DIR}/slowmatchConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${CMAKE_BINARY_DIR}/slowmatchConfig.cmake ${CMAKE_BINARY_DIR}/slowmatchConfigVersion.cmake
        DESTINATION ${config_folder})
configure_file(${CMAKE_SOURCE_DIR}/src/cmake/slowmatch.pc.in ${CMAKE_BINARY_DIR}/slowmatch.pc @ONLY)
install(FILES ${CMAKE_BINARY_DIR}/slowmatch.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)
