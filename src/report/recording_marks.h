// What a survey kept and excluded of one recording, for its spectrogram.
#pragma once

#include <filesystem>
#include <vector>

#include "picture/spectrogram.h"
#include "survey/survey.h"

namespace hearwood {

/// Marks inside [from_s, to_s) of the recording, counted from from_s. None when the file lies in no
/// folder of the survey's deployments. Errors: as JudgedSegments.
std::vector<PictureMark> marks_of_recording(const Survey& survey, const std::filesystem::path& file,
                                            int channel, double from_s, double to_s);

}  // namespace hearwood
