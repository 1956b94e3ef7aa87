#include "audio/inventory.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <optional>
#include <string_view>

#include "base/error.h"
#include "base/text.h"
#include "platform/folder.h"

namespace hearwood {
namespace {

constexpr int kDeepest = 64;  // folders in folders; each costs a descriptor while it is walked

class Walk {
  public:
    Walk(Inventory& found, DotNames dots) : found_(found), dots_(dots) {}

    void folder(Folder& open, const std::string& prefix, int depth) {
        while (const auto next = open.next()) {
            if (in_dots_ || next->name.front() == '.')
                dotted(open, next->name, prefix, depth);
            else
                entry(open, next->name, prefix, depth);
        }
        if (open.error() != 0)
            hidden(prefix, std::string("the folder could not be read to its end: ") +
                               std::strerror(open.error()));
    }

  private:
    void entry(const Folder& parent, const std::string& name, const std::string& prefix,
               int depth) {
        const std::string path = prefix + name;
        int error = 0;
        const auto status = parent.status_of(name, Links::look_at_link, &error);
        if (!status) {
            hidden(path, std::string("cannot be looked at: ") + std::strerror(error));
        } else if (status->is_regular()) {
            auto& list = has_audio_ending(name) ? found_.recordings : found_.others;
            list.push_back({path, status->size, status->modified_ns});
        } else if (status->is_folder()) {
            if (has_audio_ending(name)) leave_out(path, "a folder that is named like a recording");
            subfolder(parent, name, path, depth);
        } else if (status->kind == FileKind::link) {
            const auto target = parent.status_of(name, Links::follow);
            const bool to_folder = target && target->is_folder();
            leave_out(path, "a symbolic link; links are not followed",
                      to_folder || has_audio_ending(name));
        } else {
            leave_out(path, "a device, pipe or socket", has_audio_ending(name));
        }
    }

    void subfolder(const Folder& parent, const std::string& name, const std::string& path,
                   int depth) {
        if (depth >= kDeepest) {
            hidden(path, "more than " + std::to_string(kDeepest) + " folders inside each other");
            return;
        }
        // It was a folder a moment ago, and must not have become a link since.
        Folder open = parent.subfolder(name);
        if (open.is_open())
            folder(open, path + '/', depth + 1);
        else
            hidden(path,
                   std::string("a folder that cannot be read: ") + std::strerror(open.error()));
    }

    /// What bears a name with a dot, or lies below such a folder.
    void dotted(const Folder& parent, const std::string& name, const std::string& prefix,
                int depth) {
        if (dots_ == DotNames::pass_over) return;
        const std::string path = prefix + name;
        int error = 0;
        const auto status = parent.status_of(name, Links::look_at_link, &error);
        if (!status) {
            hidden(path, std::string("cannot be looked at: ") + std::strerror(error));
        } else if (status->is_folder()) {
            const bool outermost = !in_dots_;
            if (outermost) leave_out(path, "its name begins with a dot", false);
            in_dots_ = true;
            subfolder(parent, name, path, depth);
            in_dots_ = !outermost;
        } else if (status->is_regular() && has_audio_ending(name) && !is_companion(parent, name)) {
            found_.left_out.push_back({path,
                                       in_dots_
                                           ? "a recording in a folder whose name begins with a dot"
                                           : "a recording whose name begins with a dot",
                                       true, false, true});
        } else if (!in_dots_) {
            leave_out(path, "its name begins with a dot", false);
        }
    }

    /// "._NAME": what one desktop system puts beside each file on a disk that is not its own
    /// (AppleDouble, RFC 1740). No sound, whatever its ending.
    static bool is_companion(const Folder& parent, const std::string& name) {
        if (!name.starts_with("._")) return false;
        constexpr std::array<unsigned char, 4> magic = {0x00, 0x05, 0x16, 0x07};
        std::array<unsigned char, 4> begin{};
        const OpenFile file =
            parent.open_file(name, OpenFor::reading, {.follow_link = false, .never_wait = true});
        return file.is_open() && file.read(begin.data(), begin.size()).bytes == 4 && begin == magic;
    }

    void leave_out(const std::string& path, const std::string& reason, bool matters = true) {
        found_.left_out.push_back({path, reason, matters, false, false});
    }
    void hidden(const std::string& path, const std::string& reason) {
        found_.left_out.push_back({path, reason, true, true, false});
    }

    Inventory& found_;
    DotNames dots_;
    bool in_dots_ = false;  // below a folder whose name begins with a dot
};

}  // namespace

bool has_audio_ending(std::string_view name) {
    constexpr std::array<std::string_view, 14> endings = {"wav",  "wave", "flac", "aif", "aiff",
                                                          "aifc", "au",   "caf",  "mp3", "oga",
                                                          "ogg",  "opus", "rf64", "w64"};
    const std::size_t dot = name.rfind('.');
    if (dot == std::string_view::npos || name.size() - dot > 5) return false;
    const std::string ending = to_lower_ascii(name.substr(dot + 1));
    return std::find(endings.begin(), endings.end(), ending) != endings.end();
}

Inventory list_recordings(const std::filesystem::path& folder, DotNames dots) {
    Folder open(folder);
    if (!open.is_open()) {
        const int why = open.error();
        if (why == ENOENT)
            throw InputError(printable(folder.native()) + ": no such folder",
                             "check the path; was the card pulled?");
        if (why == ENOTDIR)
            throw InputError(printable(folder.native()) + ": not a folder",
                             "give the folder that holds the recordings");
        throw_machine_error(folder.native(), "cannot read the folder", why,
                            "check its permissions and its disk");
    }
    Inventory found;
    Walk(found, dots).folder(open, "", 0);
    const auto by_path = [](const auto& a, const auto& b) { return a.path < b.path; };
    std::sort(found.recordings.begin(), found.recordings.end(), by_path);
    std::sort(found.others.begin(), found.others.end(), by_path);
    std::sort(found.left_out.begin(), found.left_out.end(), by_path);
    return found;
}

}  // namespace hearwood
