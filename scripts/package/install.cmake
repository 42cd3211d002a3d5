# SPDX-License-Identifier: GPL-3.0-or-later
#
# What `cmake --install` puts where, how `cmake --build build --target uninstall` takes it away again, and
# how `cpack` makes a Debian package of it. The tools find their data from their own place.
include(GNUInstallDirs)

# Manual pages and completions are made of what the tools say of themselves.
set(manual ${PROJECT_BINARY_DIR}/manual)
set(manual_script ${PROJECT_SOURCE_DIR}/scripts/manual.py)
file(GLOB manual_sources CONFIGURE_DEPENDS data/schema/*.json data/models/*.json)
add_custom_command(OUTPUT ${manual}/made
  COMMAND ${Python3_EXECUTABLE} ${manual_script} ${PROJECT_BINARY_DIR} ${manual}
  COMMAND ${Python3_EXECUTABLE} ${manual_script} --notice ${manual}/copyright
  COMMAND ${CMAKE_COMMAND} -E touch ${manual}/made
  DEPENDS ${LULL_TOOLS} ${manual_script} ${manual_sources}
  COMMENT "Making manual pages and completions" VERBATIM)
add_custom_target(manual ALL DEPENDS ${manual}/made)

install(DIRECTORY data/schema data/plans data/language data/grading data/demo
        DESTINATION ${CMAKE_INSTALL_DATADIR}/lull)
install(FILES data/horn-patterns.json DESTINATION ${CMAKE_INSTALL_DATADIR}/lull)
install(DIRECTORY scripts/cluster/ DESTINATION ${CMAKE_INSTALL_LIBEXECDIR}/lull/cluster
        USE_SOURCE_PERMISSIONS)
install(DIRECTORY ${manual}/man1 ${manual}/man5 DESTINATION ${CMAKE_INSTALL_MANDIR})
install(DIRECTORY ${manual}/bash/
        DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(DIRECTORY ${manual}/zsh/ DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(DIRECTORY ${manual}/fish/ DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
# Pages keep their places beside each other, so that their links hold.
install(FILES README.md ${manual}/copyright ${manual}/changelog.Debian.gz
        DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(DIRECTORY data/ DESTINATION ${CMAKE_INSTALL_DOCDIR}/data
        FILES_MATCHING PATTERN "*.md" PATTERN "*.svg"
        PATTERN schema EXCLUDE PATTERN models EXCLUDE PATTERN language EXCLUDE PATTERN grading EXCLUDE
        PATTERN plans EXCLUDE)

add_custom_target(uninstall
  COMMAND ${CMAKE_COMMAND} -DMANIFEST=${PROJECT_BINARY_DIR}/install_manifest.txt
          -P ${PROJECT_SOURCE_DIR}/scripts/package/uninstall.cmake)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_VENDOR "lull")
set(CPACK_PACKAGE_CONTACT "lull maintainers <maintainers@lull.example>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE
    GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_DEPENDS tzdata)
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "parallel, slurm-client")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "reviews recorded sensor channels of search teams")
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION
    "Search teams at collapsed structures record vibration sensors and
microphones while the site is quiet. lull lists what was there to hear in
such recordings, when, on which channels and how sure, makes exercises with
known truth, and grades what trainees heard.
.
A recording in which nothing is found does not show that nobody is there.")
include(CPack)
