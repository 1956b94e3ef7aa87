#include "export/netcdf_late.h"

#include <string>

#include "base/error.h"
#include "platform/process.h"

namespace hearwood {

void* netcdf_function(const char* name) {
    void* const function = function_of_library(HEARWOOD_NETCDF_LIBRARY, name);
    if (!function)
        throw MachineError(
            std::string(HEARWOOD_NETCDF_LIBRARY) +
            ": cannot be loaded; install the NetCDF library (Debian: apt-get install " +
            HEARWOOD_NETCDF_PACKAGE + ")");
    return function;
}

}  // namespace hearwood
