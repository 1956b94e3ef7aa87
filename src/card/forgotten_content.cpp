#include "card/forgotten_content.h"

#include <cmath>

#include "audio/audio_file.h"
#include "audio/silence.h"
#include "base/error.h"

namespace hearwood {

std::vector<const ForgottenStretch*> ForgottenContent::stretches_of(
    const std::string& sha256) const {
    std::vector<const ForgottenStretch*> found;
    for (const ForgottenStretch& one : log_) {
        const bool of_it =
            found.empty() ? one.sha256_before == sha256 : one.recording == found.front()->recording;
        if (of_it) found.push_back(&one);
    }
    return found;
}

std::string ForgottenContent::after(const std::string& sha256) const {
    const auto stretches = stretches_of(sha256);
    return stretches.empty() ? std::string() : stretches.back()->sha256_after;
}

void ForgottenContent::silence(const std::filesystem::path& file, const std::string& sha256) const {
    for (const ForgottenStretch* one : stretches_of(sha256)) {
        auto opened = open_audio(file);
        const auto* audio = std::get_if<AudioFile>(&opened);
        if (!audio)
            throw MachineError("hearwood/forgotten.csv: a stretch of " + one->recording +
                               " is to be silenced, and the recording cannot be opened");
        // The log holds whole samples.
        const int rate = audio->info().sample_rate;
        silence_frames(file, static_cast<std::uint64_t>(std::llround(one->from_s * rate)),
                       static_cast<std::uint64_t>(std::llround(one->to_s * rate)));
    }
}

}  // namespace hearwood
