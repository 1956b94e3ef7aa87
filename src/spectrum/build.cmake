# FFTW in double precision too, for floating-point and lossy recordings; the same Debian package holds both.
pkg_check_modules(FFTW3 REQUIRED IMPORTED_TARGET fftw3)
target_link_libraries(spectrum PUBLIC PkgConfig::FFTW3)
