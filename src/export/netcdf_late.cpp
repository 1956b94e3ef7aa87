#include "export/netcdf_late.h"

#include <dlfcn.h>

#include <string>

#include "base/error.h"

namespace hearwood {

namespace {

void* loaded_library() {
    // Opened once and never closed; it lives as long as the program.
    static void* const library = dlopen(HEARWOOD_NETCDF_LIBRARY, RTLD_NOW | RTLD_LOCAL);
    return library;
}

}  // namespace

void* netcdf_function(const char* name) {
    void* const library = loaded_library();
    void* const function = library ? dlsym(library, name) : nullptr;
    if (!function)
        throw MachineError(
            std::string(HEARWOOD_NETCDF_LIBRARY) +
            ": cannot be loaded; install the NetCDF library (Debian: apt-get install " +
            HEARWOOD_NETCDF_PACKAGE + ")");
    return function;
}

}  // namespace hearwood
