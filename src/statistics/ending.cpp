#include "statistics/ending.h"

#include "base/missing.h"

namespace hearwood {

std::optional<Ending> ending_of(Interval wide, Interval narrow, bool shown, double matters) {
    if (is_missing(wide.low) || is_missing(wide.high)) return std::nullopt;
    // An end that is `matters` but for rounding lies within it.
    matters *= 1 + 1e-12;
    if (shown && (wide.low > matters || wide.high < -matters)) return Ending::more;
    if (narrow.low >= -matters && narrow.high <= matters) return Ending::smaller;
    return shown ? Ending::some : Ending::undecided;
}

const char* name_of(Ending ending) {
    switch (ending) {
        case Ending::more:
            return "more";
        case Ending::smaller:
            return "smaller";
        case Ending::some:
            return "some";
        case Ending::undecided:
            return "undecided";
    }
    return "";
}

}  // namespace hearwood
