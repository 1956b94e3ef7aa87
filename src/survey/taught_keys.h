// Inside of setting_keys.cpp: the keys of [taught_rain], [taught_engine] and [taught_wind].
#pragma once

#include <array>
#include <utility>

#include "survey/setting_keys.h"

namespace hearwood {

template <auto rule, std::size_t quantity>
constexpr SettingKey weight_key() {
    return {.name = kTaughtQuantities[quantity],
            .member = [](Settings& s) -> std::optional<double>& {
                return (s.screen.*rule).weights[quantity];
            },
            .least = -1e6,
            .most = 1e6,
            .unit = "1",
            .meaning = "weight of that column of segments.csv",
            .example = "1.5",
            .without = "0"};
}

/// Date and constant, then a weight a quantity.
template <auto rule, std::size_t... quantity>
constexpr std::array<SettingKey, 2 + sizeof...(quantity)> taught_keys(
    std::index_sequence<quantity...>) {
    return {SettingKey{.name = "date",
                       .member = [](Settings& s) -> std::string& { return (s.screen.*rule).date; },
                       .meaning = "when it was taught",
                       .example = "\"2031-06-02\""},
            SettingKey{.name = "constant",
                       .member = [](Settings& s) -> std::optional<double>& {
                           return (s.screen.*rule).constant;
                       },
                       .least = -1e6,
                       .most = 1e6,
                       .unit = "1",
                       .meaning = "the score is this plus weights times quantities; the rule fires "
                                  "above 0; without it the rule that comes with the program holds",
                       .example = "-3.5"},
            weight_key<rule, quantity>()...};
}

inline constexpr auto kTaughtIndices = std::make_index_sequence<kTaughtQuantities.size()>{};
inline constexpr auto kTaughtRainKeys = taught_keys<&ScreenSettings::taught_rain>(kTaughtIndices);
inline constexpr auto kTaughtEngineKeys =
    taught_keys<&ScreenSettings::taught_engine>(kTaughtIndices);
inline constexpr auto kTaughtWindKeys = taught_keys<&ScreenSettings::taught_wind>(kTaughtIndices);

}  // namespace hearwood
