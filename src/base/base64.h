// Bytes as text that stands in a page.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// RFC 4648, padded, on one line.
std::string base64(std::string_view bytes);

}  // namespace hearwood
