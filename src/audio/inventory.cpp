#include "audio/inventory.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <memory>
#include <optional>
#include <string_view>

#include "base/error.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr int kDeepest = 64;  // folders in folders; each costs a descriptor while it is walked

struct CloseFolder {
    void operator()(DIR* folder) const { ::closedir(folder); }
};
using Folder = std::unique_ptr<DIR, CloseFolder>;

/// Nothing, with errno set, when it cannot be opened. O_NOATIME where we may: a card is only looked
/// at.
Folder open_folder(int parent, const char* name, int further_flags) {
    const int flags = O_RDONLY | O_DIRECTORY | O_CLOEXEC | further_flags;
    int descriptor = ::openat(parent, name, flags | O_NOATIME);
    if (descriptor < 0 && errno == EPERM) descriptor = ::openat(parent, name, flags);
    if (descriptor < 0) return nullptr;
    Folder folder(::fdopendir(descriptor));
    if (!folder) ::close(descriptor);
    return folder;
}

class Walk {
  public:
    Walk(Inventory& found, DotNames dots) : found_(found), dots_(dots) {}

    void folder(DIR* open, const std::string& prefix, int depth) {
        while (true) {
            errno = 0;
            const dirent* entry = ::readdir(open);
            if (!entry) break;
            const std::string_view name = entry->d_name;
            if (name == "." || name == "..") continue;
            if (in_dots_ || name.front() == '.')
                dotted(::dirfd(open), entry->d_name, prefix, depth);
            else
                this->entry(::dirfd(open), entry->d_name, prefix, depth);
        }
        if (errno != 0)
            hidden(prefix,
                   std::string("the folder could not be read to its end: ") + std::strerror(errno));
    }

  private:
    void entry(int parent, const char* name, const std::string& prefix, int depth) {
        const std::string path = prefix + name;
        struct stat status {};
        if (::fstatat(parent, name, &status, AT_SYMLINK_NOFOLLOW) != 0) {
            hidden(path, std::string("cannot be looked at: ") + std::strerror(errno));
        } else if (S_ISREG(status.st_mode)) {
            auto& list = has_audio_ending(name) ? found_.recordings : found_.others;
            list.push_back({path, static_cast<std::uint64_t>(status.st_size), modified_ns(status)});
        } else if (S_ISDIR(status.st_mode)) {
            if (has_audio_ending(name)) leave_out(path, "a folder that is named like a recording");
            subfolder(parent, name, path, depth);
        } else if (S_ISLNK(status.st_mode)) {
            struct stat target {};
            const bool to_folder =
                ::fstatat(parent, name, &target, 0) == 0 && S_ISDIR(target.st_mode);
            leave_out(path, "a symbolic link; links are not followed",
                      to_folder || has_audio_ending(name));
        } else {
            leave_out(path, "a device, pipe or socket", has_audio_ending(name));
        }
    }

    void subfolder(int parent, const char* name, const std::string& path, int depth) {
        if (depth >= kDeepest) {
            hidden(path, "more than " + std::to_string(kDeepest) + " folders inside each other");
            return;
        }
        // O_NOFOLLOW: it was a folder a moment ago, and must not have become a link since.
        const Folder open = open_folder(parent, name, O_NOFOLLOW);
        if (open)
            folder(open.get(), path + '/', depth + 1);
        else
            hidden(path, std::string("a folder that cannot be read: ") + std::strerror(errno));
    }

    /// What bears a name with a dot, or lies below such a folder.
    void dotted(int parent, const char* name, const std::string& prefix, int depth) {
        if (dots_ == DotNames::pass_over) return;
        const std::string path = prefix + name;
        struct stat status {};
        if (::fstatat(parent, name, &status, AT_SYMLINK_NOFOLLOW) != 0) {
            hidden(path, std::string("cannot be looked at: ") + std::strerror(errno));
        } else if (S_ISDIR(status.st_mode)) {
            const bool outermost = !in_dots_;
            if (outermost) leave_out(path, "its name begins with a dot", false);
            in_dots_ = true;
            subfolder(parent, name, path, depth);
            in_dots_ = !outermost;
        } else if (S_ISREG(status.st_mode) && has_audio_ending(name) &&
                   !is_companion(parent, name)) {
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
    static bool is_companion(int parent, const char* name) {
        if (std::strncmp(name, "._", 2) != 0) return false;
        constexpr std::array<unsigned char, 4> magic = {0x00, 0x05, 0x16, 0x07};
        std::array<unsigned char, 4> begin{};
        const int file = ::openat(parent, name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
        const bool read = file >= 0 && ::read(file, begin.data(), begin.size()) == 4;
        if (file >= 0) ::close(file);
        return read && begin == magic;
    }

    static std::int64_t modified_ns(const struct stat& status) {
        return static_cast<std::int64_t>(status.st_mtim.tv_sec) * 1'000'000'000 +
               status.st_mtim.tv_nsec;
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
    const Folder open = open_folder(AT_FDCWD, folder.c_str(), 0);
    if (!open) {
        const int why = errno;
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
    Walk(found, dots).folder(open.get(), "", 0);
    const auto by_path = [](const auto& a, const auto& b) { return a.path < b.path; };
    std::sort(found.recordings.begin(), found.recordings.end(), by_path);
    std::sort(found.others.begin(), found.others.end(), by_path);
    std::sort(found.left_out.begin(), found.left_out.end(), by_path);
    return found;
}

}  // namespace hearwood
