#include "survey/toml_section.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "base/text.h"
#include "survey/sheets.h"

namespace hearwood {

namespace {

constexpr double kHighestHz = 10e6;
constexpr std::size_t kLongestName = 40;

/// What stands at a node, short enough for a message.
std::string shown(const toml::node& node) {
    if (const auto* text = node.as_string()) return text->get();
    std::ostringstream out;
    out.imbue(std::locale::classic());
    out << toml::toml_formatter{
        node, toml::toml_formatter::default_flags & ~toml::format_flags::allow_literal_strings};
    std::string text = out.str();
    if (text.size() > 60) text.replace(57, std::string::npos, "...");
    return text;
}

std::optional<double> number_of(const toml::node& node) {
    if (const auto* whole = node.as_integer()) return static_cast<double>(whole->get());
    if (const auto* real = node.as_floating_point())
        if (std::isfinite(real->get())) return real->get();
    return {};
}

}  // namespace

std::vector<std::string> keys_in_file_order(const toml::table& table) {
    struct Entry {
        toml::source_position where;
        std::string key;
    };
    std::vector<Entry> entries;
    for (const auto& [key, node] : table)
        entries.push_back({key.source().begin, std::string(key.str())});
    std::stable_sort(entries.begin(), entries.end(),
                     [](const Entry& a, const Entry& b) { return a.where < b.where; });
    std::vector<std::string> keys;
    keys.reserve(entries.size());
    for (Entry& entry : entries) keys.push_back(std::move(entry.key));
    return keys;
}

TomlSection::TomlSection(std::string name, const toml::table* table, std::vector<Problem>& problems)
    : name_(std::move(name)), table_(table), problems_(problems) {}

const toml::node* TomlSection::find(const std::string& key) {
    if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.push_back(key);
    return table_ ? table_->get(key) : nullptr;
}

bool TomlSection::has(const std::string& key) const {
    return table_ && table_->contains(key);
}

void TomlSection::refuse(const std::string& key, std::string what, std::string fix) {
    Problem problem{.file = kSettingsFile, .field = trim(name_ + " " + key)};
    const toml::node* node = table_ ? table_->get(key) : nullptr;
    if (node) problem.value = shown(*node);
    const toml::source_region* place = node     ? &node->source()
                                       : table_ ? &table_->source()
                                                : nullptr;
    if (place) problem.line = place->begin.line;
    if (place && node) problem.column = place->begin.column;
    problem.what = std::move(what);
    problem.fix = std::move(fix);
    problems_.push_back(std::move(problem));
}

void TomlSection::missing(const std::string& key, const std::string& example) {
    find(key);
    refuse(key, "this key is needed and not there",
           fmt::format("add a line such as {} under {}", example, name_));
}

std::optional<std::string> TomlSection::text(const std::string& key) {
    const toml::node* node = find(key);
    if (!node) return {};
    if (const auto* value = node->as_string()) return value->get();
    refuse(key, "a text is expected", fmt::format("write {} = \"...\"", key));
    return {};
}

std::optional<double> TomlSection::number(const std::string& key, double least, double most) {
    const toml::node* node = find(key);
    if (!node) return {};
    const auto value = number_of(*node);
    if (!value)
        refuse(key, "a number is expected", fmt::format("write {} = 1.5, without quotes", key));
    else if (*value < least || *value > most)
        refuse(key, fmt::format("runs from {} to {}", format_number(least), format_number(most)),
               "choose a value in that range");
    else
        return value;
    return {};
}

std::optional<std::int64_t> TomlSection::integer(const std::string& key, std::int64_t least,
                                                 std::int64_t most) {
    const toml::node* node = find(key);
    if (!node) return {};
    const auto* value = node->as_integer();
    if (!value)
        refuse(key, "a whole number is expected",
               fmt::format("write {} = 512, without quotes or decimals", key));
    else if (value->get() < least || value->get() > most)
        refuse(key, fmt::format("runs from {} to {}", least, most), "choose a value in that range");
    else
        return value->get();
    return {};
}

std::optional<bool> TomlSection::truth(const std::string& key) {
    const toml::node* node = find(key);
    if (!node) return {};
    if (const auto* value = node->as_boolean()) return value->get();
    refuse(key, "true or false is expected", fmt::format("write {} = true, without quotes", key));
    return {};
}

std::optional<std::pair<std::string, std::string>> TomlSection::two_texts(const std::string& key) {
    const toml::node* node = find(key);
    if (!node) return {};
    const auto* array = node->as_array();
    if (array && array->size() == 2 && array->get(0)->is_string() && array->get(1)->is_string())
        return std::pair{array->get(0)->as_string()->get(), array->get(1)->as_string()->get()};
    refuse(key, "two texts are expected", fmt::format("write {} = [\"rich\", \"poor\"]", key));
    return {};
}

std::optional<std::vector<std::string>> TomlSection::texts(const std::string& key,
                                                           std::size_t most) {
    const toml::node* node = find(key);
    if (!node) return {};
    std::vector<std::string> texts;
    const auto* array = node->as_array();
    bool good = array != nullptr;
    for (std::size_t i = 0; good && i < array->size(); ++i) {
        const auto* text = array->get(i)->as_string();
        good = text && !text->get().empty();
        if (!good) break;
        if (std::find(texts.begin(), texts.end(), text->get()) != texts.end()) {
            refuse(key, fmt::format("'{}' stands twice in it", text->get()), "take one out");
            return {};
        }
        texts.push_back(text->get());
    }
    const std::string fix = fmt::format("write {} = [\"...\"], at most {}", key, most);
    if (!good)
        refuse(key, "a list of texts is expected", fix);
    else if (texts.size() > most)
        refuse(key, fmt::format("{} texts are too many", texts.size()), fix);
    else
        return texts;
    return {};
}

std::optional<std::pair<double, double>> TomlSection::range_hz(const std::string& key) {
    const toml::node* node = find(key);
    if (!node) return {};
    const auto* array = node->as_array();
    std::optional<double> low, high;
    if (array && array->size() == 2) {
        low = number_of(*array->get(0));
        high = number_of(*array->get(1));
    }
    const std::string fix = fmt::format("write {} = [2000, 8000], low before high", key);
    if (!low || !high)
        refuse(key, "two frequencies in hertz are expected", fix);
    else if (*low < 0 || *high > kHighestHz)
        refuse(key, fmt::format("frequencies run from 0 to {} Hz", format_number(kHighestHz)), fix);
    else if (*low >= *high)
        refuse(key, "the low edge is not below the high edge", fix);
    else
        return std::pair{*low, *high};
    return {};
}

const toml::table* TomlSection::table(const std::string& key) {
    const toml::node* node = find(key);
    if (!node) return nullptr;
    if (!node->is_table())
        refuse(key, "keys in braces are expected", "write { name = value, name = value }");
    return node->as_table();
}

std::optional<int> TomlSection::clock_minutes(const std::string& key) {
    const toml::node* node = find(key);
    if (!node || !node->is_time()) return {};
    const toml::time time = node->as_time()->get();
    if (time.second != 0 || time.nanosecond != 0) return {};
    return time.hour * 60 + time.minute;
}

bool TomlSection::name_fits(const std::string& key, const char* what) {
    find(key);
    const auto letter = [](char c) { return c >= 'a' && c <= 'z'; };
    const auto fits = [&](char c) { return letter(c) || (c >= '0' && c <= '9') || c == '_'; };
    if (!key.empty() && key.size() <= kLongestName && letter(key[0]) &&
        std::all_of(key.begin(), key.end(), fits))
        return true;
    refuse(key, fmt::format("'{}' cannot name a {}", key, what),
           fmt::format("use lower-case letters, digits and _, a letter first, {} at most",
                       kLongestName));
    return false;
}

void TomlSection::refuse_unknown() {
    if (!table_) return;
    for (const std::string& key : keys_in_file_order(*table_)) {
        if (std::find(known_.begin(), known_.end(), key) != known_.end()) continue;
        const auto near = nearest(key, known_);
        refuse(
            key, fmt::format("{} has no key '{}'", name_, key),
            near ? fmt::format("did you mean '{}'?", *near) : "its keys are " + join(known_, ", "));
    }
}

}  // namespace hearwood
