// What forgetting a stretch is told as: shared by `forget` and `listen --forget`.
#pragma once

#include "listen/forget.h"

namespace hearwood {

void print_forgotten(const Forgotten& done);

}  // namespace hearwood
