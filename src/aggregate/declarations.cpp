#include "aggregate/declarations.h"

#include <fmt/core.h>

#include <chrono>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "store/json.h"

namespace hearwood {

namespace {

using nlohmann::json;

constexpr const char* kNote = "declarations";

Declaration declared_now(const Survey& survey, const Store& store, Instant now) {
    Declaration result;
    result.time =
        format_local(LocalTime(std::chrono::floor<std::chrono::seconds>(now).time_since_epoch())) +
        "Z";
    result.primary_index = survey.contrast.primary_index;
    result.primary_window = survey.contrast.primary_window;
    result.class_a = survey.stands.class_a;
    result.class_b = survey.stands.class_b;
    result.block = survey.stands.block;
    result.level = survey.contrast.level;
    result.matters = survey.contrast.matters;
    result.segments = store.count_segments();
    return result;
}

json to_json(const Declaration& d) {
    return {{"time", d.time},
            {"primary_index", d.primary_index},
            {"primary_window", d.primary_window},
            {"class_a", d.class_a},
            {"class_b", d.class_b},
            {"block", d.block},
            {"level", d.level},
            {"matters", d.matters ? json(*d.matters) : json()},
            {"segments", d.segments}};
}

Declaration from_json(const json& record) {
    Declaration d;
    record.at("time").get_to(d.time);
    record.at("primary_index").get_to(d.primary_index);
    record.at("primary_window").get_to(d.primary_window);
    record.at("class_a").get_to(d.class_a);
    record.at("class_b").get_to(d.class_b);
    record.at("block").get_to(d.block);
    record.at("level").get_to(d.level);
    if (!record.at("matters").is_null()) d.matters = record.at("matters").get<double>();
    record.at("segments").get_to(d.segments);
    return d;
}

bool changed(const Declaration& now, const Store& store) {
    const std::vector<Declaration> history = declarations(store);
    return history.empty() || !history.back().same_plan(now);
}

std::string primary_of(const Declaration& d) {
    return d.primary_index.empty() ? "none" : d.primary_index + " in " + d.primary_window;
}

std::string measured_by_then(const Declaration& d) {
    return d.segments == 0
               ? "before any recording was measured"
               : fmt::format("when {} had been measured", counted(d.segments, "segment"));
}

std::string first_declared(const Declaration& first) {
    return first.primary_index.empty() ? "at first none was declared"
                                       : fmt::format("first declared was {}, {}", primary_of(first),
                                                     measured_by_then(first));
}

std::string date_of(const Declaration& d) {
    return d.time.substr(0, 10);
}

/// The parts of a plan besides the primary that were changed after something had been measured.
std::string later_changes(const std::vector<Declaration>& history) {
    std::string what;
    const Declaration* last = nullptr;
    const auto look = [&](const char* name, auto differs) {
        bool found = false;
        for (std::size_t i = 1; i < history.size(); ++i)
            if (history[i].segments > 0 && differs(history[i - 1], history[i])) {
                found = true;
                if (!last || last < &history[i]) last = &history[i];
            }
        if (found) what += (what.empty() ? "" : ", ") + std::string(name);
    };
    look("the pair of classes", [](const auto& a, const auto& b) {
        return a.class_a != b.class_a || a.class_b != b.class_b;
    });
    look("the block", [](const auto& a, const auto& b) { return a.block != b.block; });
    look("the level", [](const auto& a, const auto& b) { return a.level != b.level; });
    look("the smallest difference of interest",
         [](const auto& a, const auto& b) { return a.matters != b.matters; });
    if (!last) return "";
    return fmt::format(" Changed since something had been measured: {} (last on {}, {}).", what,
                       date_of(*last), measured_by_then(*last));
}

}  // namespace

bool Declaration::same_plan(const Declaration& other) const {
    return same_primary(other) && class_a == other.class_a && class_b == other.class_b &&
           block == other.block && level == other.level && matters == other.matters;
}

std::vector<Declaration> declarations(const Store& store) {
    const std::string note = store.note(kNote);
    std::vector<Declaration> history;
    if (note.empty()) return history;
    try {
        for (const json& record : read_json(note)) history.push_back(from_json(record));
    } catch (const json::exception& error) {
        throw MachineError(fmt::format(
            "survey.db: the record of what was declared (table notes, key {}) cannot be read: {}",
            kNote, error.what()));
    }
    return history;
}

void note_declaration(const Survey& survey, Store& store, Instant now) {
    const Declaration declared = declared_now(survey, store, now);
    if (!changed(declared, store)) return;
    json records = json::array();
    for (const Declaration& earlier : declarations(store)) records.push_back(to_json(earlier));
    records.push_back(to_json(declared));
    store.begin();
    store.set_note(kNote, json_text(records));
    store.commit();
}

void note_declaration_if_free(const Survey& survey, const Store& store, Instant now) {
    if (!changed(declared_now(survey, store, now), store)) return;
    std::string why = "another program is writing to it";
    try {
        if (auto writable = Store::open_if_free(survey.folder))
            return note_declaration(survey, *writable, now);
    } catch (const MachineError& error) {
        why = error.what();
    }
    log_line("what [contrast] and [stands] declare now could not be noted in survey.db (" + why +
             "); the next command that can will note it");
}

Instant current_time() {
    return std::chrono::floor<std::chrono::milliseconds>(std::chrono::system_clock::now());
}

std::string declared_when(const std::vector<Declaration>& history) {
    if (history.empty()) return "When it was declared is not on record.";
    std::size_t since = history.size() - 1;
    while (since > 0 && history[since - 1].same_primary(history.back())) --since;
    const Declaration &first = history.front(), &named = history[since];
    if (named.primary_index.empty())
        return since == 0 ? ""
                          : fmt::format("It was withdrawn on {}; {}.", date_of(named),
                                        first_declared(first));
    std::string text;
    if (named.segments == 0)
        text = "It was declared before any recording was measured.";
    else if (since == 0)
        text = fmt::format("It was named {}.", measured_by_then(named));
    else
        text = fmt::format("It was changed on {}, {}: {}.", date_of(named), measured_by_then(named),
                           first_declared(first));
    return text + later_changes(history);
}

std::string declaration_history(const std::vector<Declaration>& history) {
    if (history.empty())
        return "Nothing is on record yet: no command has read the plan of this survey.\n";
    std::string text;
    for (const Declaration& d : history) {
        const std::string line = fmt::format(
            "{}  {}: primary {}; {} against {}{}; level {}{}", d.time, measured_by_then(d),
            primary_of(d), d.class_a, d.class_b, d.block.empty() ? "" : " within " + d.block,
            format_number(d.level),
            d.matters ? "; a difference matters from " + format_number(*d.matters) + " on" : "");
        text += wrapped(printable(line), 22);
    }
    return text;
}

}  // namespace hearwood
