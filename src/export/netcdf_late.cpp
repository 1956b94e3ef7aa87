#include "export/netcdf_late.h"

#include <string>
#include <string_view>

#include "base/error.h"
#include "platform/process.h"

namespace hearwood {

void* netcdf_function(const char* name) {
    constexpr std::string_view kLibrary = HEARWOOD_NETCDF_LIBRARY;
    if (kLibrary.empty())
        throw MachineError(
            "this program is the one file that needs no library, and cannot write NetCDF; use the "
            "Debian package or a build from source for 'spectra'");
    void* const function = function_of_library(HEARWOOD_NETCDF_LIBRARY, name);
    if (!function)
        throw MachineError(
            std::string(kLibrary) +
            ": cannot be loaded; install the NetCDF library (Debian: apt-get install " +
            HEARWOOD_NETCDF_PACKAGE + ")");
    return function;
}

}  // namespace hearwood
