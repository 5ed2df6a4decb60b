# The package's folders are everybody's to read, whatever the umask of whoever makes it. CMake's own
# CMAKE_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS is cut down by the umask, so it does not do.
file(CHMOD_RECURSE ${CPACK_TEMPORARY_INSTALL_DIRECTORY}
     DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
