#include "export/netcdf_late.h"

#include <string>
#include <string_view>

#include "base/error.h"
#include "platform/process.h"

#ifndef HEARWOOD_NETCDF_LINKED

namespace hearwood {

void* netcdf_function(const char* name) {
    constexpr std::string_view kLibrary = HEARWOOD_NETCDF_LIBRARY;
    void* const function = function_of_library(HEARWOOD_NETCDF_LIBRARY, name);
    if (!function)
        throw MachineError(
            std::string(kLibrary) +
            ": cannot be loaded; install the NetCDF library (Debian: apt-get install " +
            HEARWOOD_NETCDF_PACKAGE + ")");
    return function;
}

}  // namespace hearwood

#endif
