// The spectrogram of a stretch of one recording, with what a survey kept and excluded of it.
#pragma once

#include <string>
#include <vector>

#include "audio/damage.h"
#include "picture/spectrogram.h"
#include "survey/survey.h"

namespace hearwood {

struct StretchPicture {
    std::string file;
    std::string from, to;  ///< seconds, m:ss or h:mm:ss; empty: its beginning, its end
    int channel = 0;
    std::vector<std::string> bands;  ///< "insects=4000-12000"
    SpectrogramOptions spectrogram;
};

struct DrawnStretch {
    std::string png;
    PlotArea plot;
    std::vector<Damage> damages;  ///< of the recording
    bool partly_usable = false;
};

/// `survey` (null: none): its bands are drawn too, and marks say what it kept and excluded of the
/// stretch; none where the file lies in no folder of its deployments. Errors: InputError for a file
/// that cannot be read and for options that make no picture; as JudgedSegments.
DrawnStretch draw_stretch(const StretchPicture& wanted, const Survey* survey);

}  // namespace hearwood
