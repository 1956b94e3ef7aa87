// Inside this folder only: the system's description of a file as ours.
#pragma once

#include <sys/stat.h>

#include "platform/file_status.h"

namespace hearwood {

FileStatus status_from(const struct stat& status);

}  // namespace hearwood
