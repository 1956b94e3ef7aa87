// [windows] of survey.toml.
#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "survey/sheets.h"
#include "survey/toml_section.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

constexpr std::size_t kMostWindows = 64;

/// An edge of a window: a text, or a clock time in TOML's own writing (22:00:00).
std::optional<WindowEdge> read_edge(TomlSection& in, const std::string& key) {
    const std::string fix = fmt::format(
        "write {} = \"22:00\", \"sunrise\" or \"sunset+90min\" (720 minutes at most)", key);
    if (const auto minutes = in.clock_minutes(key))
        return WindowEdge{WindowEdge::Anchor::clock, *minutes};
    if (!in.has(key)) {
        in.refuse("", fmt::format("the edge '{}' is not there", key), fix);
        return {};
    }
    const auto text = in.text(key);
    if (!text) return {};
    const auto edge = parse_window_edge(*text);
    if (!edge) in.refuse(key, "neither a clock time nor minutes from sunrise or sunset", fix);
    return edge;
}

std::optional<Window> read_window(const std::string& name, const toml::table& table,
                                  std::vector<Problem>& problems) {
    TomlSection in("[windows] " + name, &table, problems);
    const auto from = read_edge(in, "from");
    const auto to = read_edge(in, "to");
    in.refuse_unknown();
    if (!from || !to) return {};
    if (*from == *to) {
        in.refuse("", "a window that ends where it begins is empty",
                  "for the whole day write from = \"00:00\", to = \"24:00\"");
        return {};
    }
    if (from->anchor == WindowEdge::Anchor::clock && from->minutes == 24 * 60) {
        in.refuse("from", "a window begins at 23:59 at the latest", "write from = \"00:00\"");
        return {};
    }
    return Window{name, *from, *to};
}

}  // namespace

// A window of a built-in name takes that one's place in the order; `name = false` takes a built-in
// one away; new ones come before the built-in ones, which would otherwise leave them nothing.
void read_windows(const toml::table* table, std::vector<Window>& windows,
                  std::vector<Problem>& problems) {
    if (!table) return;
    TomlSection in("[windows]", table, problems);
    std::vector<Window> added;
    for (const std::string& name : keys_in_file_order(*table)) {
        const auto built_in =
            std::find_if(windows.begin(), windows.end(),
                         [&](const Window& window) { return window.name == name; });
        const toml::node& node = *table->get(name);
        if (!in.name_fits(name, "window")) continue;
        if (name == "all" || name == "none") {
            in.refuse(name, "a reserved name", "choose another name");
        } else if (node.is_boolean() && !node.as_boolean()->get() && built_in != windows.end()) {
            windows.erase(built_in);
        } else if (const toml::table* edges = in.table(name)) {
            const auto window = read_window(name, *edges, problems);
            if (window && built_in != windows.end())
                *built_in = *window;
            else if (window)
                added.push_back(*window);
        }
    }
    if (added.size() > kMostWindows)
        in.refuse("", fmt::format("more than {} windows", kMostWindows), "take some out");
    windows.insert(windows.begin(), added.begin(), added.end());
    if (windows.empty()) in.refuse("", "no window is left", "keep at least one");
}

}  // namespace hearwood
