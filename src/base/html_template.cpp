#include "base/html_template.h"

#include <algorithm>
#include <set>
#include <stdexcept>

#include "base/text.h"

namespace hearwood {

namespace {

constexpr std::string_view kPart = "<!-- part: ", kPartEnd = " -->", kSay = "say ";

[[noreturn]] void fail(const std::string& what) {
    throw std::logic_error("HTML template: " + what);
}

std::string quoted(std::string_view text) {
    return "'" + std::string(text) + "'";
}

}  // namespace

HtmlTemplate::HtmlTemplate(std::string_view file, Say say) : say_(std::move(say)) {
    std::string* part = nullptr;
    while (!file.empty()) {
        const std::string_view line = file.substr(0, file.find('\n'));
        file.remove_prefix(std::min(line.size() + 1, file.size()));
        if (line.starts_with(kPart) && line.ends_with(kPartEnd)) {
            const auto name =
                line.substr(kPart.size(), line.size() - kPart.size() - kPartEnd.size());
            const auto [place, is_new] = parts_.try_emplace(std::string(name));
            if (!is_new) fail("the part " + quoted(name) + " stands there twice");
            part = &place->second;
        } else if (part && !(part->empty() && line.empty())) {
            part->append(line).push_back('\n');
        }
    }
    for (auto& [name, text] : parts_)
        while (text.ends_with("\n\n")) text.pop_back();
}

std::string HtmlTemplate::value_of(std::string_view name, bool html,
                                   std::initializer_list<Filling> values) const {
    if (!html && name.starts_with(kSay)) {
        if (!say_) fail(quoted(name) + " where there is no language");
        return escape_html(say_(name.substr(kSay.size())));
    }
    const auto* found = std::find_if(values.begin(), values.end(),
                                     [&](const Filling& one) { return one.name == name; });
    if (found == values.end()) fail("nothing was given for " + quoted(name));
    if (std::holds_alternative<Html>(found->value) != html)
        fail(quoted(name) + (html ? " wants HTML and was given a text" : " was given HTML"));
    if (!html) return escape_html(std::get<std::string>(found->value));
    const Html& given = std::get<Html>(found->value);
    std::string bytes = given.text_;
    if (!given.is_exact_ && bytes.ends_with('\n')) bytes.pop_back();
    return bytes;
}

Html HtmlTemplate::fill(std::string_view part, std::initializer_list<Filling> values) const {
    const auto found = parts_.find(part);
    if (found == parts_.end()) fail("there is no part " + quoted(part));
    const std::string_view pattern = found->second;
    std::string text;
    std::set<std::string_view> used;
    for (std::size_t at = 0; at < pattern.size();) {
        const std::size_t open = std::min(pattern.find("{{", at), pattern.size());
        text += pattern.substr(at, open - at);
        if (open == pattern.size()) break;
        const bool html = pattern.substr(open).starts_with("{{{");
        const std::size_t length = html ? 3 : 2, from = open + length;
        const std::size_t close = pattern.find(html ? "}}}" : "}}", from);
        if (close == std::string_view::npos) fail("a brace of " + quoted(part) + " stays open");
        const std::string_view name = pattern.substr(from, close - from);
        text += value_of(name, html, values);
        used.insert(name);
        at = close + length;
    }
    for (const Filling& one : values)
        if (!used.contains(one.name)) fail(quoted(one.name) + " has no place in " + quoted(part));
    return Html(std::move(text));
}

}  // namespace hearwood
