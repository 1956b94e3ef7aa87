#include "store/writer_lock.h"

#include <fmt/core.h>

#include <chrono>
#include <string>
#include <thread>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/text.h"
#include "platform/process.h"

namespace hearwood {

namespace {

/// What the holder wrote into the file: its process and machine. Only for the message.
std::string holder_of(const OpenFile& file) {
    char text[128];
    const Transfer got = file.read_at(0, text, sizeof text);
    const std::string holder = trim(std::string_view(text, got.bytes));
    return holder.empty() ? "another program" : printable(holder);
}

/// Failing to write it only makes another program's message vaguer.
void write_holder(const OpenFile& file) {
    const std::string text = fmt::format("process {} on {}\n", process_number(), host_name());
    if (file.empty() == 0) file.write_all_at(0, text.data(), text.size());
}

}  // namespace

WriterLock::WriterLock(const std::filesystem::path& file, Unlocked)
    : file_(file, OpenFor::locking, {.follow_link = false}) {
    if (!file_.is_open())
        throw_machine_error(file.string(), "cannot open", file_.error(),
                            "check that you may write to the survey folder");
}

bool WriterLock::try_to_lock(const std::filesystem::path& file) {
    int error = 0;
    if (file_.try_to_lock(error)) {
        write_holder(file_);
        return true;
    }
    if (error != 0)
        throw_machine_error(file.string(), "cannot lock", error,
                            "use a file system with locks (on Lustre: mounted with flock)");
    return false;
}

WriterLock::WriterLock(const std::filesystem::path& file) : WriterLock(file, Unlocked{}) {
    bool told = false;
    while (!try_to_lock(file)) {
        if (interrupted())
            throw Interrupted(
                "interrupted while another program was writing to this survey; run the command "
                "again when it has ended");
        if (!told)
            log_line(fmt::format(
                "{} is writing to this survey; waiting for it to end (Ctrl-C to give up)",
                holder_of(file_)));
        told = true;
        std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
}

std::unique_ptr<WriterLock> WriterLock::if_free(const std::filesystem::path& file) {
    std::unique_ptr<WriterLock> lock(new WriterLock(file, Unlocked{}));
    return lock->try_to_lock(file) ? std::move(lock) : nullptr;
}

std::unique_ptr<WriterLock> lock_results(const std::filesystem::path& survey_folder) {
    make_folder(survey_folder / "hearwood");
    return std::make_unique<WriterLock>(survey_folder / "hearwood" / "results.lock");
}

}  // namespace hearwood
