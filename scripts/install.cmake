# What `cmake --install` puts where: component "program" is what a person with a coil needs, "development" what
# somebody who builds on the rooms does (they install themselves, see burstloom_room), "elsewhere" what Debian keeps
# in other places (scripts/package.cmake). Included by CMakeLists.txt.
include(CMakePackageConfigHelpers)

# All that is installed, and no test.
add_custom_target(installable)
add_dependencies(installable burstloom described)

install(TARGETS burstloom COMPONENT program)
install(FILES ${BURSTLOOM_DESCRIBED}/burstloom.1.gz DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES ${BURSTLOOM_DESCRIBED}/burstloom.bash RENAME burstloom COMPONENT program
        DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES ${BURSTLOOM_DESCRIBED}/burstloom.zsh RENAME _burstloom COMPONENT elsewhere
        DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/site-functions)
install(FILES ${BURSTLOOM_DESCRIBED}/burstloom.fish COMPONENT program
        DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
install(DIRECTORY audio-samples/ DESTINATION ${CMAKE_INSTALL_DATADIR}/burstloom COMPONENT program
        FILES_MATCHING PATTERN make EXCLUDE PATTERN *.toml PATTERN *.mid PATTERN *.flac PATTERN README.md)
install(FILES README.md DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT elsewhere)
install(DIRECTORY docs DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)

# find_package(burstloom): burstloom::stream, burstloom::coil and so on, a static library a room. It looks for what was
# looked for here: the same lines.
set(package_folder ${CMAKE_INSTALL_LIBDIR}/cmake/burstloom)
set(looked_for "")
foreach(file CMakeLists.txt src/CMakeLists.txt)
  file(STRINGS ${file} lines REGEX "^(find_package|pkg_check_modules)\\(")
  list(JOIN lines "\n" lines)
  string(APPEND looked_for "${lines}\n")
endforeach()
file(CONFIGURE OUTPUT ${PROJECT_BINARY_DIR}/burstloom-config.cmake @ONLY CONTENT [==[
@looked_for@include(${CMAKE_CURRENT_LIST_DIR}/burstloom-rooms.cmake)
]==])
# While the first number is 0, the second counts as the first will.
write_basic_package_version_file(${PROJECT_BINARY_DIR}/burstloom-config-version.cmake COMPATIBILITY SameMinorVersion)
install(EXPORT burstloom NAMESPACE burstloom:: FILE burstloom-rooms.cmake DESTINATION ${package_folder}
        COMPONENT development)
install(FILES ${PROJECT_BINARY_DIR}/burstloom-config.cmake ${PROJECT_BINARY_DIR}/burstloom-config-version.cmake
        DESTINATION ${package_folder} COMPONENT development)
# The headers that are meant for others: from a song and a profile to a checked stream and tables. The first are what a
# program includes, the second what those include in turn; all others may change with any commit.
set(public_headers coil/profile.hpp weave/song.hpp guard/guard.hpp check/judge.hpp stream/files.hpp tables/tables.hpp
    common/error.hpp common/files.hpp score/score.hpp weave/weave.hpp)
list(APPEND public_headers score/midi.hpp score/midi_message.hpp stream/account.hpp stream/burst.hpp stream/wanted.hpp
     weave/ceiling.hpp weave/note_fate.hpp)
foreach(header ${public_headers})
  cmake_path(GET header PARENT_PATH room)
  install(FILES include/burstloom/${header} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/burstloom/${room}
          COMPONENT development)
endforeach()
