// Content of which a stretch was silenced in this survey: when its card is offloaded once more it
// is silenced on arrival the same way, before it has a name.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "store/forgotten.h"

namespace hearwood {

class ForgottenContent {
  public:
    /// Errors: InputError for a hearwood/forgotten.csv that cannot be understood.
    explicit ForgottenContent(const std::filesystem::path& survey_folder)
        : log_(read_forgotten(survey_folder)) {}

    bool knows(const std::string& sha256) const { return !stretches_of(sha256).empty(); }
    /// What it became; empty when that is not known.
    std::string after(const std::string& sha256) const;
    /// Silences in the file, which has this content, all that was silenced of it. Errors: as
    /// silence_frames().
    void silence(const std::filesystem::path& file, const std::string& sha256) const;

  private:
    /// Those of this content, and those silenced later in what it became.
    std::vector<const ForgottenStretch*> stretches_of(const std::string& sha256) const;

    std::vector<ForgottenStretch> log_;
};

}  // namespace hearwood
