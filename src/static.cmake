# HEARWOOD_STATIC: every library as an archive. Headers are those that the machine has; archives of libraries of which it
# has only shared ones lie in HEARWOOD_ARCHIVES, built from the same versions (tests/package/static.sh).
set(HEARWOOD_ARCHIVES "" CACHE PATH "Folder of libfmt.a, libdate-tz.a, libtbb.a, libtomlplusplus.a, libsoxr.a, libmpg123.a, libsndfile.a, libnetcdf.a")

function(hearwood_archive target file)
  find_library(HEARWOOD_ARCHIVE_${file} NAMES ${file} REQUIRED NO_DEFAULT_PATH NO_CMAKE_FIND_ROOT_PATH PATHS ${HEARWOOD_ARCHIVES})
  get_target_property(type ${target} TYPE)
  if(type STREQUAL INTERFACE_LIBRARY)
    set_target_properties(${target} PROPERTIES INTERFACE_LINK_LIBRARIES "${HEARWOOD_ARCHIVE_${file}};${ARGN}")
  else()
    get_target_property(configurations ${target} IMPORTED_CONFIGURATIONS)
    foreach(configuration IN LISTS configurations)
      set_target_properties(${target} PROPERTIES IMPORTED_LOCATION_${configuration} ${HEARWOOD_ARCHIVE_${file}})
    endforeach()
  endif()
endfunction()
hearwood_archive(fmt::fmt fmt)
hearwood_archive(date::date-tz date-tz)
hearwood_archive(TBB::tbb tbb)
hearwood_archive(PkgConfig::TOMLPLUSPLUS tomlplusplus)
hearwood_archive(PkgConfig::SOXR soxr m)
hearwood_archive(PkgConfig::SNDFILE sndfile FLAC vorbisenc vorbis ogg opus ${HEARWOOD_ARCHIVES}/libmpg123.a mp3lame m)
hearwood_archive(PkgConfig::NETCDF netcdf hdf5_serial_hl hdf5_serial sz aec z dl m)

# At a fixed address: a random one would need the loader that it does without.
add_link_options(-static)
