// What the picture of the day and of pitch is drawn from. Internal to this folder.
#pragma once

#include <nlohmann/json.hpp>

#include "report/page.h"

namespace hearwood {

/// Cells of hour and band, what each compared site has there, and what the tests say; an object
/// with `why` alone where nothing could be compared.
nlohmann::ordered_json pitch_json(const Page& page);

/// Sunrise and sunset at the first site with segments on the middle date, minutes of the day; NaN
/// where there is none.
struct SunMinutes {
    double rise = kMissing, set = kMissing;
};
SunMinutes sun_minutes(const Page& page);

/// [{name, from, to}]: the windows by the local clock of that date, minutes of the day (beyond it
/// where a window reaches over midnight), null where the sun does not rise or set.
nlohmann::ordered_json window_spans(const Page& page, const SunMinutes& sun);

/// [{name, low, high}]: the bands that the survey names, Hz.
nlohmann::ordered_json named_bands(const Survey& survey);

}  // namespace hearwood
