// Inside this folder only: our wishes as the system's flags.
#pragma once

#include "platform/open_file.h"

namespace hearwood {

/// open(2)'s flags for all but `without_trace`.
int open_flags(OpenFor purpose, const OpenHow& how);

/// openat(2); where only the owner may leave the time of last access alone, it is not left alone.
/// -1 with errno set.
int open_below(int folder, const char* path, int flags, bool without_trace);

}  // namespace hearwood
