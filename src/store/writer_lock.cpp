#include "store/writer_lock.h"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <string>
#include <thread>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/say.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// What the holder wrote into the file: its process and machine. Only for the message.
std::string holder_of(int descriptor) {
    char text[128];
    const ssize_t got = pread(descriptor, text, sizeof text, 0);
    const std::string holder =
        got > 0 ? trim(std::string_view(text, static_cast<std::size_t>(got))) : "";
    return holder.empty() ? "another program" : printable(holder);
}

void write_holder(int descriptor) {
    char host[65] = "";
    gethostname(host, sizeof host - 1);
    const std::string text = fmt::format("process {} on {}\n", getpid(), host);
    if (ftruncate(descriptor, 0) == 0) {
        // Failing to write it only makes another program's message vaguer.
        [[maybe_unused]] const ssize_t written = pwrite(descriptor, text.data(), text.size(), 0);
    }
}

}  // namespace

WriterLock::WriterLock(const std::filesystem::path& file, Unlocked) {
    descriptor_ = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor_ < 0)
        throw_machine_error(file.string(), "cannot open", errno,
                            "check that you may write to the survey folder");
}

bool WriterLock::try_to_lock(const std::filesystem::path& file) {
    while (flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
        if (errno == EINTR) continue;
        if (errno == EWOULDBLOCK) return false;
        throw_machine_error(file.string(), "cannot lock", errno,
                            "use a file system with locks (on Lustre: mounted with flock)");
    }
    write_holder(descriptor_);
    return true;
}

WriterLock::WriterLock(const std::filesystem::path& file) : WriterLock(file, Unlocked{}) {
    bool told = false;
    while (!try_to_lock(file)) {
        if (interrupted())
            throw Interrupted(
                "interrupted while another program was writing to this survey; run the command "
                "again when it has ended");
        if (!told)
            say(fmt::format(
                "{} is writing to this survey; waiting for it to end (Ctrl-C to give up)",
                holder_of(descriptor_)));
        told = true;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
}

std::unique_ptr<WriterLock> WriterLock::if_free(const std::filesystem::path& file) {
    std::unique_ptr<WriterLock> lock(new WriterLock(file, Unlocked{}));
    return lock->try_to_lock(file) ? std::move(lock) : nullptr;
}

WriterLock::~WriterLock() {
    close(descriptor_);
}

std::unique_ptr<WriterLock> lock_results(const std::filesystem::path& survey_folder) {
    make_folder(survey_folder / "hearwood");
    return std::make_unique<WriterLock>(survey_folder / "hearwood" / "results.lock");
}

}  // namespace hearwood
