// A file that is written before the copies are read back for the last time and gets its name after:
// so that nothing but names is written to a disk of which the verdict is made.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "base/file.h"

namespace hearwood {

class HopedFile {
  public:
    /// Errors of both: MachineError.
    HopedFile(std::filesystem::path path, std::string text)
        : path_(std::move(path)), text_(std::move(text)), file_(std::in_place, path_) {
        file_->write(text_);
        file_->sync();
    }
    /// Gives it its name where this is the text that was hoped for; else writes this text.
    void settle(const std::string& text) {
        if (text == text_) return file_->commit();
        file_.reset();
        write_whole_file(path_, text);
    }

  private:
    std::filesystem::path path_;
    std::string text_;
    std::optional<AtomicFile> file_;
};

}  // namespace hearwood
