// The key of a listening sheet: what each clip is. It lies beside the sheet's folder, not in it, so
// that the folder can be handed to listeners as it is.
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "base/table.h"

namespace hearwood {

/// hearwood/listening_key.csv of a survey folder.
std::filesystem::path listening_key(const std::filesystem::path& survey_folder);

/// A line of the key.
struct KeyLine {
    std::string sheet;      ///< the same on every line
    std::string clip;       ///< name of the clip in the page and the answers
    std::string repeat_of;  ///< the clip that it repeats; empty: none
    std::string recording;  ///< as in the store
    int channel = 0, segment = 0;
    std::string site, window;
    int third = 0;  ///< as in DrawnClip
    double weight = 1;
    double from_s = 0, to_s = 0;  ///< of the recording
};

TableOf<KeyLine> key_table();
void write_key(const std::filesystem::path& survey_folder, std::span<const KeyLine> lines);

/// Errors: InputError with every problem.
std::vector<KeyLine> read_key(const std::filesystem::path& survey_folder);

}  // namespace hearwood
