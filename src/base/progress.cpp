#include "base/progress.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <utility>

#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "platform/terminal.h"

namespace hearwood {
namespace {

using Clock = std::chrono::steady_clock;

/// To the line's beginning, and the line wiped.
const std::string kRedraw = "\r\033[K";
constexpr std::string_view kGreen = "\033[32m", kPlain = "\033[0m";

constexpr auto kBetweenDrawings = std::chrono::milliseconds(200);
/// After this long what was done weighs a third.
constexpr double kMemorySeconds = 30;
constexpr int kLongestBar = 24, kShortestBar = 6;

bool can_redraw(int stream) {
    const char* kind = std::getenv("TERM");
    return is_terminal(stream) && kind != nullptr && std::strcmp(kind, "dumb") != 0;
}

std::string time_text(double seconds) {
    const auto whole = std::lround(seconds);
    if (whole < 60) return fmt::format("{} s", whole);
    if (whole < 3600) return fmt::format("{} min {:02} s", whole / 60, whole % 60);
    return fmt::format("{} h {:02} min", whole / 3600, whole % 3600 / 60);
}

/// Coarse, as an estimate is: nobody wants to see seconds flicker.
std::string left_text(double seconds) {
    if (seconds < 55) return fmt::format("{:.0f} s", std::max(5.0, 5 * std::round(seconds / 5)));
    if (seconds < 3600) return fmt::format("{:.0f} min", std::round(seconds / 60));
    const auto minutes = std::lround(seconds / 300) * 5;
    return fmt::format("{} h {:02} min", minutes / 60, minutes % 60);
}

/// "0.25", "9.5", "10", "1,234": zeros behind the point would flicker.
std::string rate_text(double rate) {
    if (rate >= 100) return grouped(static_cast<std::uint64_t>(std::llround(rate)));
    return fmt::format("{:.3g}", rate);
}

std::string bar(double share, int length, bool colour) {
    const int full = static_cast<int>(std::floor(share * length));
    const std::string done(static_cast<std::size_t>(full), '#');
    const std::string open(static_cast<std::size_t>(length - full), '.');
    if (!colour) return "[" + done + open + "]";
    return fmt::format("[{}{}{}{}]", kGreen, done, kPlain, open);
}

/// Of the words behind a bar, whatever is done, while less than an hour is left: so the bar keeps
/// its length.
int longest_tail(const ProgressPicture& picture) {
    const std::string total = grouped(picture.total);
    return characters(fmt::format(" 100 %, {} of {} {}, 1,234 {}, 55 min left", total, total,
                                  picture.unit, picture.rate_name));
}

}  // namespace

void SteadyRate::add(double count, double seconds) {
    const double weight = std::exp(-seconds / kMemorySeconds);
    count_ = count_ * weight + count;
    seconds_ = seconds_ * weight + seconds;
}

std::string progress_line(const ProgressPicture& picture) {
    const bool known = picture.total > 0;
    const double share =
        known
            ? std::min(1.0, static_cast<double>(picture.done) / static_cast<double>(picture.total))
            : 0;
    std::string tail =
        known ? fmt::format(" {:3.0f} %, {} of {} {}", std::floor(100 * share),
                            grouped(picture.done), grouped(picture.total), picture.unit)
              : fmt::format(" {} {}", grouped(picture.done), picture.unit);
    if (picture.rate > 0)
        tail += fmt::format(", {} {}", rate_text(picture.rate), picture.rate_name);
    if (known && picture.rate > 0 && picture.done < picture.total)
        tail += fmt::format(
            ", {} left",
            left_text(static_cast<double>(picture.total - picture.done) / picture.rate));
    const int words = characters(picture.what) + std::max(characters(tail), longest_tail(picture));
    const int room = std::min(kLongestBar, picture.width - 1 - words - 3);
    if (!known || room < kShortestBar)
        return std::string(first_characters(picture.what + tail, std::max(1, picture.width - 1)));
    return fmt::format("{} {}{}", picture.what, bar(share, room, picture.colour), tail);
}

Progress::Progress(std::string what, std::string unit, std::uint64_t total, bool quiet,
                   std::string rate)
    : what_(std::move(what)),
      unit_(std::move(unit)),
      rate_name_(std::move(rate)),
      total_(total),
      shown_(!quiet && can_redraw(2)),
      start_(Clock::now()),
      last_(start_),
      next_(start_ + kBetweenDrawings) {}

Progress::~Progress() {
    finish();
}

void Progress::add(std::uint64_t count) {
    const std::scoped_lock lock(mutex_);
    done_ += count;
    if (shown_ && Clock::now() >= next_) draw();
}

void Progress::set_total(std::uint64_t total) {
    const std::scoped_lock lock(mutex_);
    total_ = total;
}

void Progress::log_line(const std::string& line) {
    const std::scoped_lock lock(mutex_);
    if (drawn_) write_to_stderr(kRedraw);
    hearwood::log_line(line);
    drawn_ = false;
}

void Progress::finish() {
    const std::scoped_lock lock(mutex_);
    if (finished_) return;
    finished_ = true;
    if (!drawn_) return;
    const double seconds = std::chrono::duration<double>(Clock::now() - start_).count();
    write_to_stderr(fmt::format("{}{} {} {} in {}\n", kRedraw, what_, grouped(done_), unit_,
                                time_text(seconds)));
}

void Progress::draw() {
    const auto now = Clock::now();
    rate_.add(static_cast<double>(done_ - counted_),
              std::chrono::duration<double>(now - last_).count());
    counted_ = done_;
    last_ = now;
    next_ = now + kBetweenDrawings;
    write_to_stderr(kRedraw + progress_line({what_, unit_, done_, total_, rate_.per_second(),
                                             rate_name_, terminal_columns(2), colours_allowed(2)}));
    drawn_ = true;
}

bool colours_allowed(int descriptor) {
    const char* no_color = std::getenv("NO_COLOR");
    return (no_color == nullptr || *no_color == '\0') && can_redraw(descriptor);
}

}  // namespace hearwood
