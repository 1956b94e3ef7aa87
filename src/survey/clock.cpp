#include "survey/clock.h"

#include <cmath>

namespace hearwood {

namespace {

std::chrono::milliseconds to_milliseconds(double seconds) {
    return std::chrono::milliseconds(std::llround(seconds * 1000));
}

double to_seconds(std::chrono::milliseconds time) {
    return static_cast<double>(time.count()) / 1000;
}

}  // namespace

RecorderClock::RecorderClock(const Survey& survey, const Deployment& deployment)
    : zone_(Zone::named(deployment.clock.empty() ? survey.time_zone : deployment.clock)) {
    const auto& at_start = deployment.clock_error_start_s;
    const auto& at_end = deployment.clock_error_end_s;
    if (!at_start && !at_end) return;
    checks_ = at_start && at_end ? Checks::both : Checks::one;
    error_start_s_ = at_start ? *at_start : *at_end;
    error_end_s_ = at_end ? *at_end : *at_start;
    if (checks_ == Checks::both && deployment.start && deployment.end) {
        const Zone local = Zone::named(survey.time_zone);
        first_ = local.to_utc(*deployment.start) + to_milliseconds(error_start_s_);
        second_ = local.to_utc(*deployment.end) + to_milliseconds(error_end_s_);
    }
}

RecorderClock::Reading RecorderClock::read(
    LocalTime wall, std::optional<std::chrono::seconds> stated_offset) const {
    const Instant shown =
        stated_offset ? Instant(wall.time_since_epoch()) - *stated_offset : zone_.to_utc(wall);
    double error_s = error_start_s_;
    if (first_ < second_) {
        const double share = to_seconds(shown - first_) / to_seconds(second_ - first_);
        error_s += (error_end_s_ - error_start_s_) * std::fmin(std::fmax(share, 0), 1);
    }
    const std::chrono::milliseconds correction = -to_milliseconds(error_s);
    return {shown + correction, to_seconds(correction)};
}

std::string RecorderClock::advice() const {
    switch (checks_) {
        case Checks::both:
            return "";
        case Checks::one:
            return "the clock was checked once: its error is taken as constant, but a recorder's "
                   "clock commonly "
                   "drifts by some seconds a week, so the edges of the dawn window are uncertain "
                   "by as much";
        case Checks::none:
            return "the clock was never checked: it is taken as right, and if it was off by "
                   "minutes, so are "
                   "the edges of the dawn window, and calls of one window are counted in the next";
    }
    return "";
}

}  // namespace hearwood
