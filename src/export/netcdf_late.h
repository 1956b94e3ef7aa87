// The functions of the NetCDF library, under their own names, from a library that is loaded when
// the first of them is called. It brings some forty further libraries with it, for which every
// other command would otherwise wait at its start (6 ms, as long as measuring 90 s of sound takes).
// The program that needs no library has it linked (HEARWOOD_NETCDF_LINKED).
#pragma once

#include <netcdf.h>

#include <utility>

#ifndef HEARWOOD_NETCDF_LINKED

namespace hearwood {

/// Address of a function of the NetCDF library. MachineError when the library is not installed.
void* netcdf_function(const char* name);

template <typename Function>
class LateNetcdf {
  public:
    explicit constexpr LateNetcdf(const char* name) : name_(name) {}
    template <typename... Arguments>
    auto operator()(Arguments&&... arguments) const {
        return reinterpret_cast<Function>(netcdf_function(name_))(
            std::forward<Arguments>(arguments)...);
    }

  private:
    const char* name_;
};

// Inside this namespace they are found before the library's own declarations.
inline constexpr LateNetcdf<decltype(&::nc_close)> nc_close{"nc_close"};
inline constexpr LateNetcdf<decltype(&::nc_create)> nc_create{"nc_create"};
inline constexpr LateNetcdf<decltype(&::nc_def_dim)> nc_def_dim{"nc_def_dim"};
inline constexpr LateNetcdf<decltype(&::nc_def_var)> nc_def_var{"nc_def_var"};
inline constexpr LateNetcdf<decltype(&::nc_def_var_chunking)> nc_def_var_chunking{
    "nc_def_var_chunking"};
inline constexpr LateNetcdf<decltype(&::nc_def_var_deflate)> nc_def_var_deflate{
    "nc_def_var_deflate"};
inline constexpr LateNetcdf<decltype(&::nc_def_var_fill)> nc_def_var_fill{"nc_def_var_fill"};
inline constexpr LateNetcdf<decltype(&::nc_enddef)> nc_enddef{"nc_enddef"};
inline constexpr LateNetcdf<decltype(&::nc_put_att_double)> nc_put_att_double{"nc_put_att_double"};
inline constexpr LateNetcdf<decltype(&::nc_put_att_schar)> nc_put_att_schar{"nc_put_att_schar"};
inline constexpr LateNetcdf<decltype(&::nc_put_att_text)> nc_put_att_text{"nc_put_att_text"};
inline constexpr LateNetcdf<decltype(&::nc_put_var1_string)> nc_put_var1_string{
    "nc_put_var1_string"};
inline constexpr LateNetcdf<decltype(&::nc_put_var_double)> nc_put_var_double{"nc_put_var_double"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_double)> nc_put_vara_double{
    "nc_put_vara_double"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_float)> nc_put_vara_float{"nc_put_vara_float"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_int)> nc_put_vara_int{"nc_put_vara_int"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_schar)> nc_put_vara_schar{"nc_put_vara_schar"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_short)> nc_put_vara_short{"nc_put_vara_short"};
inline constexpr LateNetcdf<decltype(&::nc_put_vara_string)> nc_put_vara_string{
    "nc_put_vara_string"};
inline constexpr LateNetcdf<decltype(&::nc_strerror)> nc_strerror{"nc_strerror"};

}  // namespace hearwood

#endif
