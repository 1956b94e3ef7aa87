// The keys of survey.toml, one row each. A row is the only place that knows a key: the reader, its
// refusals, the survey.toml of `init`, the tables of the manual and the hash of what measured
// numbers depend on all follow it. DEVELOPERS.md says how to add one.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "survey/settings.h"

namespace hearwood {

// What a key holds, as references into the settings.
struct TwoTexts {
    std::string &first, &second;  ///< ["rich", "poor"]
};
struct OpenRange {
    double& low_hz;
    std::optional<double>& high_hz;  ///< nothing: as far up as the sound goes
};
struct OutcomeName {
    std::string &index, &window;  ///< { index = "aci", window = "dawn" }; both empty: none
};

/// Where a key's value stands; its type says what may be written in the file.
using SettingMember = std::variant<std::string& (*)(Settings&),               // a text; empty: none
                                   std::vector<std::string>& (*)(Settings&),  // ["a", "b"]
                                   bool& (*)(Settings&),                      //
                                   int& (*)(Settings&),                       //
                                   std::uint64_t& (*)(Settings&),             // any from 0 on
                                   double& (*)(Settings&),                    //
                                   std::optional<double>& (*)(Settings&),     // nothing: not set
                                   Band& (*)(Settings&),                      // [low, high] in Hz
                                   OpenRange (*)(Settings&),                  // [low, high] in Hz
                                   TwoTexts (*)(Settings&),                   //
                                   OutcomeName (*)(Settings&)>;

struct Refusal {
    std::string what, fix;
};

struct SettingKey {
    const char* name;
    SettingMember member;
    /// Of a number, ends included; of a list of texts, how many there may be.
    double least = 0, most = 0;
    const char* unit = "";     ///< of a number; "1" for a pure number
    const char* meaning = "";  ///< one line, in a new survey.toml and in the manual
    const char* more = "";     ///< goes on in the manual only
    /// A value as it is written in the file, for keys that have no default to show.
    const char* example = "";
    const char* without = "none";  ///< what holds instead of a default, for the manual
    bool needed = false;           ///< a survey without it is refused
    bool in_use = false;           ///< a new survey.toml has the example itself, not as a comment
    /// Measured numbers depend on it: it enters the hash that tells whether stored results are
    /// stale. The member of such a key is part of MeasureSettings.
    bool measuring = false;
    /// What else must hold of the value; asked after the keys before it were read.
    std::optional<Refusal> (*check)(const Settings&) = nullptr;
    /// Sets the value when the key is not there and its default follows another key.
    void (*otherwise)(Settings&) = nullptr;
};

struct SettingSection {
    const char* name;   ///< without its brackets
    const char* intro;  ///< comment lines below the heading in a new survey.toml, or ""
    std::span<const SettingKey> keys;  ///< empty where the survey chooses the names: bands, windows
    bool in_new_survey = true;         ///< stands in a new survey.toml
};

/// In the order of the file.
std::span<const SettingSection> setting_sections();

/// Every section with its keys as a new survey.toml has them: needed keys with an example, all
/// others as '#key = value' with their default.
std::string settings_template(std::span<const SettingSection> sections);

/// A page of the manual with the list of each section made anew, between a line
/// '<!-- keys of [measure] -->' and a line '<!-- end of keys -->'.
std::string with_settings_tables(const std::string& page, std::span<const SettingSection> sections);

}  // namespace hearwood
