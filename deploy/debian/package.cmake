# The Debian package, by CPack (deploy/package): what only a package brings, and what Debian asks of one.
set(here ${CMAKE_CURRENT_LIST_DIR})
install(FILES ${here}/../leadside.default DESTINATION /etc/default RENAME leadside)
install(FILES ${here}/../leadside.logrotate DESTINATION /etc/logrotate.d RENAME leadside)
install(FILES ${here}/copyright DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES ${here}/changelog DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(CODE "file(GLOB long \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_MANDIR}/man*/*\")
  execute_process(COMMAND gzip -9nf \${long} \"\$ENV{DESTDIR}\${CMAKE_INSTALL_PREFIX}/${CMAKE_INSTALL_DOCDIR}/changelog\"
    COMMAND_ERROR_IS_FATAL ANY)")

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES TRUE)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_MAINTAINER "The Leadside authors <leadside@packages.debian.org>")
set(CPACK_DEBIAN_PACKAGE_SECTION web)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS TRUE)
set(CPACK_DEBIAN_PACKAGE_DEPENDS adduser)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS "logrotate, nginx")
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION "lesson record of a golf club's teaching professionals
A server for one club's academy: coaches film and mark swings on a tablet,
Leadside measures them, names the first fix with drills, and keeps the
student's record of lessons, fixes and homework in one file.
.
It serves plain pages and a documented HTTP interface on one port, to be put
behind a TLS proxy; nightly copies, encrypted on request, come with it.")
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA ${here}/preinst ${here}/postinst ${here}/prerm ${here}/postrm ${here}/conffiles)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION TRUE)
include(CPack)
