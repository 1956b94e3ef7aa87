#include "words/printed_page.h"

#include "words/family.h"

namespace hearwood {

HtmlTemplate in_language(std::string_view file, const Words& words) {
    return HtmlTemplate(
        file, [&words](std::string_view key) { return std::string(words.say_named(key)); });
}

Html printed_document(const Words& words, const std::string& title, const Html& pages) {
    return in_language(kSheetTemplate, words)
        .fill("document", {{"language", std::string(words.code())},
                           {"title", title},
                           {"style", Html::trusted(type_faces() + std::string(kSheetStyle))},
                           {"pages", pages}});
}

Html unchecked_note(const Words& words) {
    return words.checked() ? Html() : in_language(kSheetTemplate, words).fill("unchecked");
}

Html fact_row(const HtmlTemplate& common, std::string_view label, const std::string& value) {
    if (value.empty()) return common.fill("open fact", {{"label", std::string(label)}});
    return common.fill("fact", {{"label", std::string(label)}, {"value", value}});
}

}  // namespace hearwood
