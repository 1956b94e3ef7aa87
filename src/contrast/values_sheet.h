// Site values that anybody measured, from a sheet: `contrast --values FILE.csv`.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "base/error.h"
#include "contrast/contrast.h"

namespace hearwood {

/// Columns site, class, index, window, value and optionally block, in any order; others are left
/// alone. An empty value, or NA, is missing; a block column that is empty throughout counts as
/// none. Errors: InputError with every problem (a site in two classes or blocks, a value given
/// twice, no number ...).
std::vector<SiteValue> read_site_values(const std::filesystem::path& path);

}  // namespace hearwood
