// What forgetting a stretch is told as: shared by `forget` and `listen --forget`.
#pragma once

#include "base/error.h"
#include "listen/forget.h"

namespace hearwood {

/// What --dry-run says instead.
void print_would_forget(const ForgetRequest& request);
ExitCode print_forgotten(const Forgotten& done);

}  // namespace hearwood
