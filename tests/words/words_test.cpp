#include "words/words.h"

#include <catch2/catch.hpp>
#include <set>
#include <stdexcept>
#include <string>

using namespace hearwood;

namespace {

std::multiset<std::string> names_in(std::string_view text) {
    std::multiset<std::string> names;
    for (std::size_t open = text.find('{'); open != std::string_view::npos;
         open = text.find('{', open + 1))
        names.emplace(text.substr(open, text.find('}', open) - open + 1));
    return names;
}

}  // namespace

TEST_CASE("every language has every sentence, with the names of the English one, each once") {
    REQUIRE(std::size(kWordFiles) == 6);
    for (const WordFile& file : kWordFiles) {
        CAPTURE(file.code);
        REQUIRE(file.texts.size() == std::size(kWordKeys));
        std::size_t own = 0;
        for (std::size_t i = 0; i < std::size(kWordKeys); ++i) {
            CAPTURE(kWordKeys[i]);
            if (kWordKeys[i] == "checked_by") continue;
            CHECK_FALSE(file.texts[i].empty());
            CHECK(names_in(file.texts[i]) == names_in(kWordFiles[0].texts[i]));
            own += file.texts[i] != kWordFiles[0].texts[i];
        }
        // Some words are the same in two languages ("site", "date"); most are not.
        CHECK((file.code == "en" ? own == 0 : own > std::size(kWordKeys) * 8 / 10));
    }
}

TEST_CASE(
    "a sentence is said in the language, its names filled in; an unknown language is English") {
    CHECK(Words("fr").say("sheet.head", {{"total", "12"}, {"number", "3"}}) ==
          "Fiche de pose 3 sur 12");
    CHECK(Words("ms").say("sheet.caution") == "Awas.");
    CHECK(Words("tlh").say("sheet.caution") == "Caution.");
    CHECK(Words("tlh").code() == "en");
    CHECK_FALSE(Words::has("tlh"));
    CHECK(Words::has("pt"));
}

TEST_CASE("a name that is not given, or has no place, is the program's fault and is told") {
    const Words words("en");
    CHECK_THROWS_AS(words.say("sheet.head", {{"number", "3"}}), std::logic_error);
    CHECK_THROWS_AS(words.say("sheet.caution", {{"number", "3"}}), std::logic_error);
    // What is filled in is no pattern.
    CHECK(words.say("sheet.site_heading", {{"site", "{site} {x}"}}) == "Site {site} {x}");
}

TEST_CASE("only English passes for checked until somebody has signed the file") {
    CHECK(Words("en").checked());
    for (const WordFile& file : kWordFiles)
        if (file.code != "en")
            CHECK(Words(file.code).checked() ==
                  !Words(file.code).say("checked_by").starts_with("written in English"));
}

TEST_CASE("a template's key that is no sentence fails") {
    const Words words("fr");
    CHECK(words.say_named("sheet.caution") == words.say("sheet.caution"));
    CHECK_THROWS_AS(words.say_named("sheet.cautions"), std::logic_error);
}
