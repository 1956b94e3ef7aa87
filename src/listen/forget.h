// Silencing a stretch of an archived recording, when a voice must not be kept: its samples become
// silence in the copy, the old and the new hash and the reason are recorded (docs/listening.md).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct ForgetRequest {
    std::string recording;  ///< path from the survey folder, as in the store
    double from_s = 0, to_s = 0;
    std::string reason;
};

struct Forgotten {
    std::string recording, sha256_before, sha256_after;
    double from_s = 0, to_s = 0;     ///< as it was done: whole samples
    std::vector<std::string> clips;  ///< of the listening sheet, removed
};

/// The survey folder that a file lies in: the nearest folder above it with a survey.toml.
/// InputError when there is none.
std::filesystem::path survey_folder_of(const std::filesystem::path& file);

/// The stretch of a clip of the listening sheet. InputError for an unknown clip.
ForgetRequest request_for_clip(const std::filesystem::path& survey_folder, const std::string& clip);

/// All channels of [from_s, to_s) become silence. WAV keeps every other byte; FLAC is written anew,
/// with its text tags. The file is replaced in one step; then SHA256SUMS of its folder, the store
/// (its results are dropped, so that measure does them again) and hearwood/forgotten.csv follow;
/// clips of the listening sheet that touch the stretch are removed. Errors: InputError for a
/// stretch outside the recording or a format that cannot be rewritten without changing the rest
/// (lossy ones); MachineError.
Forgotten forget_stretch(const std::filesystem::path& survey_folder, Store& store,
                         const ForgetRequest& request);

}  // namespace hearwood
