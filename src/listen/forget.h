// Silencing a stretch of an archived recording, when a voice must not be kept: its samples become
// silence in the copy, the old and the new hash and the reason are recorded (docs/listening.md).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "store/forgotten.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct ForgetRequest {
    std::string recording;  ///< path from the survey folder, as in the store
    double from_s = 0, to_s = 0;
    std::string reason;
};

struct Forgotten {
    ForgottenStretch stretch;        ///< as it was done: whole samples
    std::vector<std::string> clips;  ///< of the listening sheet, removed
    /// What may still hold the voice: clips that could not be removed, with the reason.
    std::vector<std::string> not_removed;
    /// Second copies that still hold it, or may: their disk is not connected.
    std::vector<std::string> elsewhere;
};

/// The survey folder that a file lies in: the nearest folder above it with a survey.toml.
/// InputError when there is none.
std::filesystem::path survey_folder_of(const std::filesystem::path& file);
/// The stretch of a recording in that folder. InputError for a link, or a file behind one.
ForgetRequest request_for_file(const std::filesystem::path& survey_folder,
                               const std::filesystem::path& file, double from_s, double to_s,
                               const std::string& reason);

/// The stretch of a clip of the listening sheet. InputError for an unknown clip.
ForgetRequest request_for_clip(const std::filesystem::path& survey_folder, const std::string& clip);

/// All channels of [from_s, to_s) become silence. In this order, so that a run that was killed goes
/// on when the command (or any other forget) is run again: the intention is written into
/// hearwood/forgotten.csv, with the hash of the recording as it was; clips of the listening sheet
/// that touch the stretch and all clips of the page are removed; the file is replaced in one step;
/// SHA256SUMS of its folder and the store follow (its results are dropped, so that measure does
/// them again); forgotten.csv gets the hash after. Errors: InputError for a stretch outside the
/// recording or a format that cannot be rewritten without changing the rest (lossy ones);
/// MachineError.
Forgotten forget_stretch(const std::filesystem::path& survey_folder, Store& store,
                         const ForgetRequest& request);

/// For the terminal.
std::string would_forget_text(const ForgetRequest& request);
std::string forgotten_text(const Forgotten& done);

}  // namespace hearwood
