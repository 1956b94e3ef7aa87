// One line of progress on stderr: redrawn on a terminal, a line a minute elsewhere, silent when
// quiet.
#pragma once

#include <chrono>
#include <cstdint>
#include <mutex>
#include <string>

namespace hearwood {

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
    /// A line about one file (an error, say) that must not tear the progress line.
    void say(const std::string& line);
    /// Ends the progress line.
    void finish();

  private:
    void draw(bool last);

    std::string what_, unit_, rate_;
    std::uint64_t total_, done_ = 0;
    bool quiet_, terminal_, drawn_ = false, finished_ = false;
    std::chrono::steady_clock::time_point start_, next_;
    std::mutex mutex_;
};

/// True when stderr (2) or stdout (1) is a terminal that may be coloured: NO_COLOR unset, TERM not
/// dumb.
bool colours_allowed(int descriptor);

}  // namespace hearwood
