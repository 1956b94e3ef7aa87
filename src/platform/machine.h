// Whether this machine can run the program as it was built. A processor that lacks an instruction
// of it (where it was built with -march=native, say) is told by a handler that is there before
// main.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// What is missing, as a sentence's end ("Linux 3.2 or later is needed, and this is 2.6.32"); empty
/// where nothing is. The C library asks for that kernel and no longer looks for it itself.
std::string missing_of_kernel(std::string_view release);

/// The same of the kernel that this runs on.
std::string missing_of_machine();

}  // namespace hearwood
