// Templates: filled by name, escaped unless marked, and loud about what does not fit.
#include "base/html_template.h"

#include <catch2/catch.hpp>
#include <stdexcept>

using namespace hearwood;

namespace {

constexpr const char* kFile = R"html(A comment: {{not looked at}}.
<!-- part: row -->
<tr><td>{{name}}</td><td class="{{name}}">{{note}}</td></tr>

<!-- part: table -->
<table>
{{{rows}}}
</table>
<!-- part: said -->
<p>{{say greeting}} {{name}}</p>
<!-- part: open -->
<p>{{name</p>
)html";

std::string greet(std::string_view key) {
    if (key != "greeting") throw std::logic_error("no such sentence");
    return "Good <morning>";
}

}  // namespace

TEST_CASE("texts are escaped, HTML is put in as it is") {
    const HtmlTemplate page(kFile, greet);
    const Html row = page.fill("row", {{"name", "<b>\"A\" & 'B'"}, {"note", "{{name}}"}});
    CHECK(row.text() ==
          "<tr><td>&lt;b&gt;&quot;A&quot; &amp; &#39;B&#39;</td><td class=\"&lt;b&gt;&quot;A&quot; "
          "&amp; &#39;B&#39;\">{{name}}</td></tr>\n");
    const Html two = page.fill("row", {{"name", "1"}, {"note", ""}}) +
                     page.fill("row", {{"name", "2"}, {"note", ""}});
    CHECK(page.fill("table", {{"rows", two}}).text() ==
          "<table>\n<tr><td>1</td><td class=\"1\"></td></tr>\n<tr><td>2</td><td class=\"2\">"
          "</td></tr>\n</table>\n");
    CHECK(page.fill("table", {{"rows", Html()}}).text() == "<table>\n\n</table>\n");
    CHECK(page.fill("said", {{"name", "you"}}).text() == "<p>Good &lt;morning&gt; you</p>\n");
    CHECK(page.fill("table", {{"rows", Html::trusted("<i>\n")}}).text() ==
          "<table>\n<i>\n\n</table>\n");
}

TEST_CASE("whatever does not fit a template fails") {
    const HtmlTemplate page(kFile, greet);
    CHECK_THROWS_AS(page.fill("none", {}), std::logic_error);
    CHECK_THROWS_AS(page.fill("row", {{"name", "1"}}), std::logic_error);
    CHECK_THROWS_AS(page.fill("row", {{"name", "1"}, {"note", ""}, {"more", ""}}),
                    std::logic_error);
    CHECK_THROWS_AS(page.fill("row", {{"name", "1"}, {"note", Html()}}), std::logic_error);
    CHECK_THROWS_AS(page.fill("table", {{"rows", "<tr>"}}), std::logic_error);
    CHECK_THROWS_AS(page.fill("open", {{"name", "1"}}), std::logic_error);
    CHECK_THROWS_AS(HtmlTemplate("<!-- part: said -->\n{{say greeting}}\n").fill("said"),
                    std::logic_error);
    CHECK_THROWS_AS(HtmlTemplate("<!-- part: said -->\n{{say farewell}}\n", greet).fill("said"),
                    std::logic_error);
    CHECK_THROWS_AS(HtmlTemplate("<!-- part: a -->\n<!-- part: a -->\n"), std::logic_error);
}
