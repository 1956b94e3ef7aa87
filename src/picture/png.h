// An image as the bytes of a PNG file (libpng, palette-indexed). The same image gives the same
// bytes: no time stamp, no comment, fixed filter and compression level.
#pragma once

#include <string>

#include "picture/image.h"

namespace hearwood {

/// Errors: MachineError when libpng fails.
std::string encode_png(const Image& image);

}  // namespace hearwood
