# What `cmake --install` puts where: the plug-in and the static libraries, their public headers, the rules, the CMake
# package (find_package(meniscus), targets meniscus::plugin, meniscus::engine and meniscus::grammar) and the pkg-config
# files (meniscus for the plug-in, meniscus-engine for the static libraries).
include(CMakePackageConfigHelpers)

set(meniscus_package_dir ${CMAKE_INSTALL_LIBDIR}/cmake/meniscus)
set(meniscus_include_dir ${CMAKE_INSTALL_INCLUDEDIR}/meniscus)

# The headers are file sets of their targets; of the grammar only grammar/compile.hpp is for users.
install(TARGETS meniscus_engine EXPORT meniscusTargets
        ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR}
        FILE_SET HEADERS DESTINATION ${meniscus_include_dir}
        INCLUDES DESTINATION ${meniscus_include_dir})
if(TARGET meniscus_grammar)
  install(TARGETS meniscus_grammar EXPORT meniscusTargets
          ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR}
          FILE_SET HEADERS DESTINATION ${meniscus_include_dir}
          INCLUDES DESTINATION ${meniscus_include_dir})
endif()
# By itself: a host of the plug-in needs none of what the static libraries need.
if(TARGET meniscus_plugin)
  install(TARGETS meniscus_plugin EXPORT meniscusPluginTargets
          LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR}
          FILE_SET HEADERS DESTINATION ${meniscus_include_dir}
          INCLUDES DESTINATION ${meniscus_include_dir})
  install(EXPORT meniscusPluginTargets NAMESPACE meniscus:: DESTINATION ${meniscus_package_dir})
endif()

install(EXPORT meniscusTargets NAMESPACE meniscus:: DESTINATION ${meniscus_package_dir})
configure_package_config_file(${CMAKE_CURRENT_LIST_DIR}/meniscusConfig.cmake.in
  ${PROJECT_BINARY_DIR}/package-files/meniscusConfig.cmake
  INSTALL_DESTINATION ${meniscus_package_dir} PATH_VARS CMAKE_INSTALL_DATADIR)
# Before 1.0 a minor version may break its users.
write_basic_package_version_file(${PROJECT_BINARY_DIR}/package-files/meniscusConfigVersion.cmake
  COMPATIBILITY SameMinorVersion)
# The package may be installed under another prefix than it was configured for.
file(RELATIVE_PATH MENISCUS_PREFIX_FROM_PC "/prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig" "/prefix")
foreach(file meniscus.pc meniscus-engine.pc)
  configure_file(${CMAKE_CURRENT_LIST_DIR}/${file}.in ${PROJECT_BINARY_DIR}/package-files/${file} @ONLY)
  install(FILES ${PROJECT_BINARY_DIR}/package-files/${file} DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)
endforeach()
install(FILES ${PROJECT_BINARY_DIR}/package-files/meniscusConfig.cmake
              ${PROJECT_BINARY_DIR}/package-files/meniscusConfigVersion.cmake
        DESTINATION ${meniscus_package_dir})
install(FILES ${PROJECT_SOURCE_DIR}/LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR})
