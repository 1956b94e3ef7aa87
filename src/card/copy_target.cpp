#include "card/copy_target.h"

#include <cerrno>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "platform/disk.h"
#include "platform/file_status.h"
#include "platform/folder.h"
#include "platform/letters.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Hidden, so that no listing of recordings takes what is in it for one.
constexpr const char* kTemporaryFolder = ".offload";
constexpr const char* kDiskFix =
    "check the disk's free space and health, then run again: what is proved is kept";
constexpr std::uint64_t kPushBytes = 8 << 20;

[[noreturn]] void refuse_link(const fs::path& path) {
    throw InputError({Problem{
        .file = path.native(),
        .what = "a link or no folder; copies are only written to proper folders, so that none "
                "can land elsewhere",
        .fix = "replace it by a folder"}});
}

/// A disk's own rules for names: on FAT no colon, say, and nowhere more than so many bytes. Some
/// drivers say of such a name that it is not there: then the folder for it is there all the same.
bool is_about_the_name(int error, const fs::path& path) {
    return error == EINVAL || error == ENAMETOOLONG || error == EILSEQ ||
           (error == ENOENT && status_of(path.parent_path(), Links::look_at_link));
}

constexpr const char* kNameRefused =
    "this disk takes no such name (too long, or with a character that it does not allow); use "
    "another disk, or rename it on the card";

}  // namespace

UnfinishedCopy::UnfinishedCopy(fs::path temporary, fs::path target, bool replaces)
    : temporary_(std::move(temporary)),
      target_(std::move(target)),
      replaces_(replaces),
      file_(temporary_, OpenFor::writing_new, {.follow_link = false}) {
    if (!file_.is_open())
        throw_machine_error(target_.native(), "cannot write", file_.error(), kDiskFix);
}

UnfinishedCopy::UnfinishedCopy(UnfinishedCopy&& other) noexcept
    : temporary_(std::move(other.temporary_)),
      target_(std::move(other.target_)),
      replaces_(other.replaces_),
      file_(std::move(other.file_)),
      written_(other.written_),
      pushed_(other.pushed_) {
    other.temporary_.clear();
}

UnfinishedCopy::~UnfinishedCopy() {
    if (file_.is_open()) file_.close();
    if (!temporary_.empty()) remove_name(temporary_);
}

void UnfinishedCopy::write(const char* bytes, std::size_t count) {
    const Transfer done = file_.write_all(bytes, count);
    written_ += done.bytes;
    if (done.error == EFBIG)
        throw FileRefused(
            "a file this large cannot be written there (on FAT at most 4 GiB; or "
            "see 'ulimit -f')");
    if (done.error != 0)
        throw_machine_error(target_.native(), "cannot write", done.error, kDiskFix);
    if (written_ - pushed_ >= kPushBytes) push();
}

/// The disk starts on it now, so that sync() does not have it all before it.
void UnfinishedCopy::push() {
    file_.push(pushed_, written_ - pushed_);
    pushed_ = written_;
}

void UnfinishedCopy::end(std::int64_t modified_ns) {
    file_.set_modified(modified_ns);
    push();
}

void UnfinishedCopy::sync() {
    if (const int error = file_.sync(); error != 0)
        throw_machine_error(target_.native(), "cannot sync to disk", error, kDiskFix);
    close();
}

void UnfinishedCopy::reopen() {
    if (file_.is_open()) close();
    file_ = OpenFile(temporary_, OpenFor::changing, {.follow_link = false});
    if (!file_.is_open())
        throw_machine_error(target_.native(), "cannot write", file_.error(), kDiskFix);
}

void UnfinishedCopy::close() {
    if (const int error = file_.close(); error != 0)
        throw_machine_error(target_.native(), "cannot close", error, kDiskFix);
}

bool UnfinishedCopy::publish() {
    const int error = replaces_ ? error_of_rename(temporary_, target_)
                                : error_of_rename_to_new(temporary_, target_);
    if (error == EEXIST && !replaces_) return false;
    const bool gone = error == ENOENT && !status_of(temporary_, Links::look_at_link);
    if (!gone && is_about_the_name(error, target_)) throw FileRefused(kNameRefused);
    if (error != 0)
        throw_machine_error(target_.native(), "cannot rename into place", error, kDiskFix);
    temporary_.clear();
    return true;
}

void sync_together(std::span<UnfinishedCopy* const> copies) {
    if (copies.size() < 2 || !copies.front()->file_.syncs_as_a_whole()) {
        for (UnfinishedCopy* copy : copies) copy->sync();
        return;
    }
    for (UnfinishedCopy* copy : copies)
        if (const int error = copy->file_.await_bytes(); error != 0)
            throw_machine_error(copy->target_.native(), "cannot write to disk", error, kDiskFix);
    if (const int error = copies.front()->file_.sync_file_system(); error != 0)
        throw_machine_error(copies.front()->target_.native(), "cannot sync to disk", error,
                            kDiskFix);
    for (UnfinishedCopy* copy : copies) copy->close();
}

CopyTarget::CopyTarget(const fs::path& root, const std::string& folder)
    : root_(fs::weakly_canonical(fs::absolute(root))),
      folder_((root_ / folder).lexically_normal()),
      disk_(disk_of(folder_)) {
    const fs::path inside = folder_.lexically_relative(root_);
    if (inside.empty() || inside == "." || *inside.begin() == "..")
        throw InputError({Problem{
            .file = "deployments.csv",
            .field = "folder",
            .value = folder,
            .what = "recordings are only copied to a folder inside the survey",
            .fix = "name one, such as recordings/" + fs::path(folder).filename().string()}});
}

/// The folders down to the file's, made where they are missing; none of them may be a link.
fs::path CopyTarget::make_parent_of(const std::string& path) {
    fs::path full = folder_ / path;
    if (parents_.contains(full.parent_path().native())) return full;
    fs::path at = root_;
    for (const fs::path& part : full.parent_path().lexically_relative(root_)) {
        at /= part;
        const int error = error_of_making_folder(at);
        if (error == 0) {
            sync_folder(at.parent_path());
            continue;
        }
        if (is_about_the_name(error, at)) throw FileRefused(kNameRefused);
        if (error != EEXIST)
            throw_machine_error(at.native(), "cannot make the folder", error, kDiskFix);
        const auto status = status_of(at, Links::look_at_link);
        if (!status || !status->is_folder()) refuse_link(at);
    }
    parents_.insert(full.parent_path().native());
    return full;
}

void CopyTarget::prepare() {
    make_folder(root_);
    make_parent_of("any");
    const fs::path temporary = folder_ / kTemporaryFolder;
    finish();
    if (const int error = error_of_making_folder(temporary); error != 0)
        throw_machine_error(temporary.native(), "cannot make the folder", error, kDiskFix);
    find_out_folding();
    load_checksums();
    disk_ = disk_of(folder_);
    prepared_on_ = file_system();
}

void CopyTarget::find_out_folding() {
    const fs::path small = folder_ / kTemporaryFolder / "case",
                   large = folder_ / kTemporaryFolder / "CASE";
    OpenFile made(small, OpenFor::writing_new, {.follow_link = false});
    if (!made.is_open())
        throw_machine_error(small.native(), "cannot write", made.error(), kDiskFix);
    made.close();
    folds_names_ = status_of(large, Links::look_at_link).has_value();
    remove_name(small);
}

void CopyTarget::load_checksums() {
    checksums_ = Checksums::load(folder_ / Checksums::kFileName);
}

std::optional<CopyTarget::Present> CopyTarget::look(const std::string& path) const {
    const auto status = status_of(folder_ / path, Links::look_at_link);
    if (!status) return std::nullopt;
    return Present{status->size, status->modified_ns, status->is_regular(), status->device,
                   status->number};
}

UnfinishedCopy CopyTarget::begin(const std::string& path, bool replaces) {
    const fs::path target = make_parent_of(path);
    return {folder_ / kTemporaryFolder / (std::to_string(next_temporary_++) + ".part"), target,
            replaces};
}

std::string CopyTarget::name_on_disk(const std::string& path) const {
    const fs::path full = folder_ / path;
    const auto wanted = status_of(full, Links::look_at_link);
    if (!wanted) return path;
    Folder folder(full.parent_path());
    const std::string key = folded_name(full.filename().native());
    while (const auto entry = folder.next()) {
        if (entry->number != wanted->number && folded_name(entry->name) != key) continue;
        const auto status = status_of(full.parent_path() / entry->name, Links::look_at_link);
        if (status && status->size == wanted->size)
            return (fs::path(path).parent_path() / entry->name).native();
    }
    return path;
}

std::uint64_t CopyTarget::free_bytes() const {
    const fs::path at = nearest_existing(folder_);
    int error = 0;
    const auto free = free_bytes_at(at, error);
    if (!free) throw_machine_error(at.native(), "cannot tell the free space", error, kDiskFix);
    return *free;
}

std::uint64_t CopyTarget::file_system() const {
    const auto status = status_of(nearest_existing(folder_), Links::follow);
    return status ? status->device : 0;
}

void CopyTarget::write_checksums() const {
    checksums_.save(folder_);
}

void CopyTarget::finish() {
    // remove_all takes away a link itself, never what it leads to.
    std::error_code ignored;
    fs::remove_all(folder_ / kTemporaryFolder, ignored);
}

std::string folded_name(const std::string& path) {
    std::string key = small_letters(path);
    // FAT drops blanks and dots at the end of a name.
    while (!key.empty() && (key.back() == '.' || key.back() == ' ')) key.pop_back();
    return key;
}

}  // namespace hearwood
