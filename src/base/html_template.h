// HTML out of templates that are files: their parts are filled by name, and escaped by default.
//
// A line "<!-- part: NAME -->" begins a part, which reaches to the next such line or the end; what
// stands before the first is a comment. In a part {{name}} is a text, escaped; {{{name}}} is HTML,
// put in as it is; {{say KEY}} is a sentence in the reader's language, escaped.
#pragma once

#include <functional>
#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace hearwood {

/// What is HTML already: filled parts, and what is marked so by trusted().
class Html {
  public:
    Html() = default;
    /// For own bytes alone: scripts, styles, JSON and base64. Never for a text of the survey's.
    /// They are put in to the byte, their last line end too: a policy may name them by their hash.
    static Html trusted(std::string_view bytes) {
        Html html{std::string(bytes)};
        html.is_exact_ = true;
        return html;
    }
    const std::string& text() const { return text_; }
    bool empty() const { return text_.empty(); }
    Html& operator+=(const Html& other) {
        text_ += other.text_;
        is_exact_ = false;
        return *this;
    }
    friend Html operator+(Html one, const Html& other) { return std::move(one += other); }

  private:
    friend class HtmlTemplate;
    explicit Html(std::string text) : text_(std::move(text)) {}
    std::string text_;
    bool is_exact_ = false;
};

class HtmlTemplate {
  public:
    /// A sentence by its key; throws where there is none.
    using Say = std::function<std::string(std::string_view key)>;
    struct Filling {
        std::string_view name;
        std::variant<std::string, Html> value;
    };

    /// Errors, here and in fill(): std::logic_error, since a template and what fills it are both
    /// part of the program.
    explicit HtmlTemplate(std::string_view file, Say say = {});
    /// The part, ending in one line end; that of a part filled in is dropped. Errors: an unknown
    /// part; a name that is not given, or has no place; a text where HTML is wanted, or HTML where
    /// a text is.
    Html fill(std::string_view part, std::initializer_list<Filling> values = {}) const;

  private:
    std::string value_of(std::string_view name, bool html,
                         std::initializer_list<Filling> values) const;
    std::map<std::string, std::string, std::less<>> parts_;
    Say say_;
};

}  // namespace hearwood
