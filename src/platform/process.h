// This process, and libraries that are loaded while it runs.
#pragma once

#include <string>

namespace hearwood {

long process_number();
/// The machine's name, as the system has it; may be cut at 64 bytes.
std::string host_name();

/// A function of a shared library that is loaded at the first call and stays; null where there is
/// no such library, or no such function in it.
void* function_of_library(const char* library, const char* function);

}  // namespace hearwood
