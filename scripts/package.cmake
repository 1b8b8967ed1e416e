# What CPack makes: two Debian packages, burstloom (the program) and libburstloom-dev (the rooms). Included by
# CMakeLists.txt; scripts/package.sh builds them.
set(CPACK_GENERATOR DEB)
set(CPACK_VERBATIM_VARIABLES ON)
set(CPACK_PACKAGE_CONTACT "Burstloom contributors <contributors@burstloom.invalid>")
set(CPACK_PACKAGE_DIRECTORY ${PROJECT_BINARY_DIR}/packages)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE
    WORLD_READ WORLD_EXECUTE)

# A package is a group: a component of scripts/install.cmake, and what Debian wants in places of its own.
set(CPACK_COMPONENTS_ALL program debian_program development debian_development)
set(CPACK_COMPONENT_PROGRAM_GROUP burstloom)
set(CPACK_COMPONENT_DEBIAN_PROGRAM_GROUP burstloom)
set(CPACK_COMPONENT_DEVELOPMENT_GROUP libburstloom)
set(CPACK_COMPONENT_DEBIAN_DEVELOPMENT_GROUP libburstloom)
set(CPACK_COMPONENTS_GROUPING ONE_PER_GROUP)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)

# Debian Policy 4.6.2: 12.5 (copyright), 12.7 (changelog).
file(READ LICENSE licence)
file(READ ${PROJECT_BINARY_DIR}/page/node_modules/uplot/LICENSE uplot_licence)
set(debian_files ${PROJECT_BINARY_DIR}/debian)
file(CONFIGURE OUTPUT ${debian_files}/copyright @ONLY CONTENT [==[
Burstloom:

@licence@
uPlot, which the page of a report holds:

@uplot_licence@
Compiled in are also headers of Debian's packages libcli11-dev (BSD-3-clause), libeigen3-dev (MPL-2.0),
libtomlplusplus-dev and nlohmann-json3-dev (MIT); their notices stand in the copyright files of those packages.
]==])
string(TIMESTAMP today "%a, %d %b %Y %H:%M:%S +0000" UTC)
file(CONFIGURE OUTPUT ${debian_files}/changelog @ONLY CONTENT [==[
burstloom (@PROJECT_VERSION@) unstable; urgency=medium

  * What is new stands in /usr/share/doc/burstloom/docs/reference/changelog.md.

 -- @CPACK_PACKAGE_CONTACT@  @today@
]==])
execute_process(COMMAND ${GZIP} -9nfk changelog WORKING_DIRECTORY ${debian_files} COMMAND_ERROR_IS_FATAL ANY)
install(FILES ${debian_files}/copyright ${debian_files}/changelog.gz DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/burstloom
        COMPONENT debian_program EXCLUDE_FROM_ALL)
install(FILES ${debian_files}/copyright ${debian_files}/changelog.gz
        DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/libburstloom-dev COMPONENT debian_development EXCLUDE_FROM_ALL)
install(FILES ${BURSTLOOM_DESCRIBED}/burstloom.zsh RENAME _burstloom COMPONENT debian_program EXCLUDE_FROM_ALL
        DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)

set(CPACK_DEBIAN_BURSTLOOM_PACKAGE_NAME burstloom)
set(CPACK_DEBIAN_BURSTLOOM_PACKAGE_SECTION sound)
set(CPACK_DEBIAN_BURSTLOOM_PACKAGE_SHLIBDEPS ON)
# The letters in still pictures, and what keeps the list of them: where nobody does, every user's programs try to and
# complain when they have no HOME.
set(CPACK_DEBIAN_BURSTLOOM_PACKAGE_DEPENDS "fonts-dejavu-core, fontconfig")
set(CPACK_DEBIAN_BURSTLOOM_PACKAGE_SUGGESTS "gcc-avr, avr-libc, gcc-arm-none-eabi, make")  # what exported projects take
set(CPACK_DEBIAN_BURSTLOOM_DESCRIPTION
"Burstloom turns a MIDI file or a recording into bursts for the gate driver
of a small solid-state Tesla coil, every one of them inside what its owner
allows: on-time, gap, duty, break rate, current, heat and supply. It tells
what that cost the music, judges streams and captures of the real gate,
shows them before the power is on, and writes tables and projects for
microcontrollers.

A Tesla coil can kill: high voltage, burns by radio-frequency currents,
ozone, noise, fire, danger to people with implants. A prediction is no
permission; follow local codes and leave mains to people licensed for it.")

set(CPACK_DEBIAN_LIBBURSTLOOM_PACKAGE_NAME libburstloom-dev)
set(CPACK_DEBIAN_LIBBURSTLOOM_PACKAGE_SECTION libdevel)
# Static libraries, and a CMake package that looks for all that building took.
file(READ scripts/setup.sh setup)
string(REGEX MATCH "to_build=\\([^)]*\\)" to_build "${setup}")
string(REGEX MATCHALL "[a-z0-9.+-]+-dev" libraries "${to_build}")
list(JOIN libraries ", " libraries)
set(CPACK_DEBIAN_LIBBURSTLOOM_PACKAGE_DEPENDS "${libraries}, pkg-config")
set(CPACK_DEBIAN_LIBBURSTLOOM_DESCRIPTION
"Static libraries, headers and a CMake package: reading songs, weaving them
into bursts for a small solid-state Tesla coil, keeping and judging its
limits.

A prediction is no permission: see the cautions in the package burstloom.")

include(CPack)
