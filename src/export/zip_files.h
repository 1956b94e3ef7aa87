// A zip archive (APPNOTE of the format, with 64-bit sizes), by minizip, which comes with zlib.
#pragma once

#include <filesystem>
#include <memory>

#include "export/deposit_files.h"

namespace hearwood {

/// Errors: InputError when it is not there or no zip archive, or has two files of one name.
std::unique_ptr<DepositFiles> open_zip(const std::filesystem::path& archive);

}  // namespace hearwood
