# What is installed besides the program and its data, and the Debian package.
install(FILES README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME copyright)
install(DIRECTORY docs/ DESTINATION ${CMAKE_INSTALL_DOCDIR}/docs)
install(DIRECTORY schema DESTINATION ${CMAKE_INSTALL_DATADIR}/kitwright)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME kitwright)
set(CPACK_PACKAGE_VENDOR "Kitwright")
set(CPACK_PACKAGE_CONTACT "Kitwright developers <developers@kitwright.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "Design desk for motorised working models from one donor kit")
set(CPACK_PACKAGE_DESCRIPTION "Computes whole working models from a stock list and wanted figures: gear trains laid out hole by hole,
linkages, structure, load charts, power, and what the stock cannot do. With a workbench in the browser, served on this
machine only.")
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_DEPENDS "fonts-inter, fonts-dejavu-core")  # of the dossier
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "www-browser")
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
set(CPACK_STRIP_FILES ON)
include(CPack)
