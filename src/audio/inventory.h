// What lies in a folder of recordings, without opening any of it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

/// A regular file below the folder.
struct FoundFile {
    std::string path;  ///< relative to the folder, '/' between parts, raw bytes
    std::uint64_t size = 0;
    std::int64_t modified_ns = 0;  ///< since 1970, UTC
};

/// Something below the folder that is no file we read, and why.
struct LeftOut {
    std::string path;
    std::string reason;  ///< "a folder that is named like a recording", "a symbolic link; links are
                         ///< not followed" ...
    /// True when it bears the name of a recording (or could hide recordings): it then belongs in
    /// the list of what could not be used. False for what nobody misses.
    bool matters = true;
    /// True when files may lie there that this list does not have: a folder that could not be read.
    bool hides = false;
    /// A recording that is there and not listed as one, since its name or its folder's begins with
    /// a dot.
    bool recording = false;
};

/// Names that begin with a dot: temporary files, what desktop systems leave behind, the trash.
enum class DotNames {
    pass_over,
    tell,  ///< as left out, and in folders of such names each recording
};

/// All three sorted by the bytes of the path.
struct Inventory {
    std::vector<FoundFile> recordings;  ///< with an audio ending
    std::vector<FoundFile> others;      ///< regular files without one: logs, settings
    std::vector<LeftOut> left_out;
};

/// Lists everything below the folder, which may itself be a symbolic link; links further down are
/// never followed, so neither cycles nor ways out of the folder exist. A subfolder that cannot be
/// read is left out with its reason. Errors: InputError when the folder itself is not there or is
/// no folder; MachineError when it cannot be read.
Inventory list_recordings(const std::filesystem::path& folder, DotNames dots = DotNames::pass_over);

/// True for the endings of audio files that we read, in any case: .wav .flac .aif .aiff .ogg ...
bool has_audio_ending(std::string_view name);

}  // namespace hearwood
