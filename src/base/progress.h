// A bar of progress on stderr where that is a terminal; nothing in a pipe or a file, nothing when
// quiet.
#pragma once

#include <chrono>
#include <cstdint>
#include <mutex>
#include <string>

namespace hearwood {

/// How fast something goes, so that what is left can be told: over the last half minute mostly, so
/// that one slow file does not make it jump and a change of pace is not averaged away for an hour.
class SteadyRate {
  public:
    /// `count` were done in the `seconds` since the last call.
    void add(double count, double seconds);
    double per_second() const { return seconds_ > 0 ? count_ / seconds_ : 0; }

  private:
    double count_ = 0, seconds_ = 0;  ///< what was long ago weighs less
};

/// What a bar shows.
struct ProgressPicture {
    std::string what, unit;             ///< "measuring", "segments"
    std::uint64_t done = 0, total = 0;  ///< total 0: not known, no bar
    double rate = 0;                    ///< a second
    std::string rate_name;              ///< "a second", "times real time"
    int width = 80;                     ///< columns of the terminal
    bool colour = false;
};
/// "measuring [########............]  40 %, 1,234 of 3,085 segments, 3 min left": no longer than
/// the terminal is wide, without a line end.
std::string progress_line(const ProgressPicture& picture);

class Progress {
  public:
    /// `what` is the present participle shown first ("measuring"); `unit` what is counted
    /// ("segments"). total 0: unknown, no time left is shown.
    /// `rate` is what a count in a second is called: "times real time" for seconds of sound.
    Progress(std::string what, std::string unit, std::uint64_t total, bool quiet,
             std::string rate = "a second");
    ~Progress();
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

    /// Safe from several threads; cheap when it is not yet time to draw.
    void add(std::uint64_t count = 1);
    void set_total(std::uint64_t total);
    /// A line about one file (an error, say) that must not tear the bar.
    void log_line(const std::string& line);
    /// Ends the bar with what was done in all.
    void finish();

  private:
    void draw();

    std::string what_, unit_, rate_name_;
    std::uint64_t total_, done_ = 0, counted_ = 0;
    bool shown_, drawn_ = false, finished_ = false;
    SteadyRate rate_;
    std::chrono::steady_clock::time_point start_, last_, next_;
    std::mutex mutex_;
};

/// True when stderr (2) or stdout (1) is a terminal that may be coloured: NO_COLOR unset, TERM not
/// dumb.
bool colours_allowed(int descriptor);

}  // namespace hearwood
