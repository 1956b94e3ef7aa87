// What is printed for people in the field, in their language: whole sentences out of the .toml
// files of this folder, with names in braces to be filled in. Messages, tables and the page stay in
// English.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <iterator>
#include <span>
#include <string>
#include <string_view>
#include <utility>

namespace hearwood {

struct WordFile {
    std::string_view code;  ///< "ms"
    std::span<const std::string_view> texts;
};

#include "words/sentences.inc"

/// A key of the files, "sheet.caution": one that en.toml lacks does not compile.
class WordKey {
  public:
    consteval WordKey(const char* key) : index_(index_of(key)) {}
    std::size_t index() const { return index_; }

  private:
    static consteval std::size_t index_of(std::string_view key) {
        for (std::size_t i = 0; i < std::size(kWordKeys); ++i)
            if (kWordKeys[i] == key) return i;
        throw "no such key in src/words/en.toml";
    }
    std::size_t index_;
};

class Words {
  public:
    /// "en", "ms", "id", "es", "pt", "fr"; anything else is English.
    explicit Words(std::string_view code);
    static bool has(std::string_view code);

    /// Of HTML's lang attribute.
    std::string_view code() const { return file_->code; }
    /// A native reader has looked at the file.
    bool checked() const;

    /// English where the language lacks the sentence.
    std::string_view say(WordKey key) const;
    /// The same for a key out of a template. Errors: std::logic_error where en.toml lacks it.
    std::string_view say_named(std::string_view key) const;
    /// With each {name} replaced. Errors: std::logic_error where one is left over, or has no place.
    using Filling = std::pair<std::string_view, std::string>;
    std::string say(WordKey key, std::initializer_list<Filling> fillings) const;

  private:
    std::string_view text(std::size_t index) const;
    const WordFile* file_;
};

}  // namespace hearwood
