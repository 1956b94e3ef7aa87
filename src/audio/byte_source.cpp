#include "audio/byte_source.h"

#include <cerrno>
#include <cstring>
#include <string>
#include <utility>

namespace hearwood {
namespace {

Unreadable cannot_open(int error_number) {
    const std::string why = std::strerror(error_number);
    switch (error_number) {
        case ENOENT:
        case ENOTDIR:
            return {UnreadableKind::missing, "no such file",
                    "check the path; was the card pulled?"};
        case EACCES:
        case EPERM:
            return {UnreadableKind::no_permission, "the system does not let this user read it",
                    "change its permissions, or run as its owner"};
        case ELOOP:
            return {UnreadableKind::not_a_file, "symbolic links that lead in a circle",
                    "replace the link by the file"};
        default:
            return {UnreadableKind::io_error, "cannot be opened: " + why,
                    "check the disk and its cable"};
    }
}

Unreadable not_regular(const FileStatus& status) {
    if (status.is_folder())
        return {UnreadableKind::not_a_file, "a folder, not a recording",
                "rename it if it misleads"};
    return {UnreadableKind::not_a_file, "a device, pipe or socket, not a recording", ""};
}

}  // namespace

std::variant<ByteSource, Unreadable> ByteSource::open(const std::filesystem::path& path) {
    // A pipe named x.wav would block the batch for ever.
    OpenFile file(path, OpenFor::reading, {.without_trace = true, .never_wait = true});
    if (!file.is_open()) return cannot_open(file.error());
    int error = 0;
    const auto status = file.status(&error);
    if (!status) return cannot_open(error);
    if (!status->is_regular()) return not_regular(*status);
    return ByteSource{std::move(file), status->size};
}

std::size_t ByteSource::read_at(std::uint64_t offset, void* bytes, std::size_t count) {
    std::size_t done = 0;
    while (done < count) {
        const Transfer got =
            file_.read_at(offset + done, static_cast<char*>(bytes) + done, count - done);
        if (got.error != 0 && !failure_) failure_ = Failure{offset + done, got.error};
        if (got.bytes == 0) break;
        done += got.bytes;
    }
    return done;
}

}  // namespace hearwood
