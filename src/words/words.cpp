#include "words/words.h"

#include <algorithm>
#include <stdexcept>

namespace hearwood {
namespace {

const WordFile* file_of(std::string_view code) {
    const auto found = std::find_if(std::begin(kWordFiles), std::end(kWordFiles),
                                    [&](const WordFile& file) { return file.code == code; });
    return found == std::end(kWordFiles) ? nullptr : found;
}

}  // namespace

Words::Words(std::string_view code) : file_(file_of(code)) {
    if (!file_) file_ = &kWordFiles[0];
}

bool Words::has(std::string_view code) {
    return file_of(code) != nullptr;
}

bool Words::checked() const {
    return !file_->texts[WordKey("checked_by").index()].empty();
}

std::string_view Words::text(std::size_t index) const {
    const std::string_view own = file_->texts[index];
    return own.empty() ? kWordFiles[0].texts[index] : own;
}

std::string_view Words::say(WordKey key) const {
    return text(key.index());
}

std::string_view Words::say_named(std::string_view key) const {
    const auto found = std::find(std::begin(kWordKeys), std::end(kWordKeys), key);
    if (found == std::end(kWordKeys))
        throw std::logic_error("no '" + std::string(key) + "' in src/words/en.toml");
    return text(static_cast<std::size_t>(found - std::begin(kWordKeys)));
}

std::string Words::say(WordKey key, std::initializer_list<Filling> fillings) const {
    const std::string_view pattern = say(key);
    std::string text;
    std::size_t filled = 0;
    for (std::size_t at = 0; at < pattern.size();) {
        const std::size_t open = std::min(pattern.find('{', at), pattern.size());
        text += pattern.substr(at, open - at);
        if (open == pattern.size()) break;
        const std::size_t close = pattern.find('}', open);
        const std::string_view name = pattern.substr(open + 1, close - open - 1);
        const auto* filling = std::find_if(fillings.begin(), fillings.end(),
                                           [&](const Filling& one) { return one.first == name; });
        if (filling == fillings.end())
            throw std::logic_error("nothing was given for {" + std::string(name) + "} in '" +
                                   std::string(pattern) + "'");
        text += filling->second;
        ++filled;
        at = close + 1;
    }
    if (filled < fillings.size())
        throw std::logic_error("more was given than fits into '" + std::string(pattern) + "'");
    return text;
}

}  // namespace hearwood
