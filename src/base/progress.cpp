#include "base/progress.h"

#include <fmt/core.h>

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <utility>

#include "base/say.h"
#include "base/text.h"
#include "platform/terminal.h"

namespace hearwood {
namespace {

using Clock = std::chrono::steady_clock;

/// To the line's beginning, and the line wiped.
const std::string kRedraw = "\r\033[K";

bool can_redraw(int stream) {
    const char* kind = std::getenv("TERM");
    return is_terminal(stream) && kind != nullptr && std::strcmp(kind, "dumb") != 0;
}

/// From one drawing to the next.
std::chrono::milliseconds pause_between(bool terminal) {
    return terminal ? std::chrono::milliseconds(200) : std::chrono::minutes(1);
}

std::string time_text(double seconds) {
    const auto whole = std::lround(seconds);
    if (whole < 60) return fmt::format("{} s", whole);
    if (whole < 3600) return fmt::format("{} min {:02} s", whole / 60, whole % 60);
    return fmt::format("{} h {:02} min", whole / 3600, whole % 3600 / 60);
}

}  // namespace

Progress::Progress(std::string what, std::string unit, std::uint64_t total, bool quiet,
                   std::string rate)
    : what_(std::move(what)),
      unit_(std::move(unit)),
      rate_(std::move(rate)),
      total_(total),
      quiet_(quiet),
      terminal_(can_redraw(2)),
      start_(Clock::now()),
      next_(start_ + pause_between(terminal_)) {}

Progress::~Progress() {
    finish();
}

void Progress::add(std::uint64_t count) {
    const std::scoped_lock lock(mutex_);
    done_ += count;
    if (!quiet_ && Clock::now() >= next_) draw(false);
}

void Progress::set_total(std::uint64_t total) {
    const std::scoped_lock lock(mutex_);
    total_ = total;
}

void Progress::say(const std::string& line) {
    const std::scoped_lock lock(mutex_);
    if (drawn_ && terminal_) write_to_stderr(kRedraw);
    hearwood::say(line);
    drawn_ = false;
}

void Progress::finish() {
    const std::scoped_lock lock(mutex_);
    if (finished_) return;
    finished_ = true;
    if (!quiet_ && drawn_) draw(true);
}

void Progress::draw(bool last) {
    const auto now = Clock::now();
    const double seconds = std::chrono::duration<double>(now - start_).count();
    const double rate = seconds > 0 ? static_cast<double>(done_) / seconds : 0;
    std::string line = fmt::format("{} {}", what_, grouped(done_));
    if (total_ > 0) line += fmt::format(" of {}", grouped(total_));
    line += fmt::format(" {}, {} {}", unit_, readable_number(rate), rate_);
    if (!last && total_ > done_ && rate > 0)
        line += fmt::format(", {} left", time_text(static_cast<double>(total_ - done_) / rate));
    if (last) line += fmt::format(", {} in all", time_text(seconds));
    if (terminal_)
        write_to_stderr(kRedraw + line + (last ? "\n" : ""));
    else
        hearwood::say(line);
    drawn_ = true;
    next_ = now + pause_between(terminal_);
}

bool colours_allowed(int descriptor) {
    const char* no_color = std::getenv("NO_COLOR");
    return (no_color == nullptr || *no_color == '\0') && can_redraw(descriptor);
}

}  // namespace hearwood
