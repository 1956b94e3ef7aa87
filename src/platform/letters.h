// Letters of file names.
#pragma once

#include <string>

namespace hearwood {

/// Small letters for capitals as Unicode knows them, whatever the user's locale; bytes that are no
/// UTF-8 stay.
std::string small_letters(const std::string& name);

}  // namespace hearwood
