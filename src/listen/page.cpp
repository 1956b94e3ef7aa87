#include "listen/page.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace hearwood {
namespace {

constexpr std::string_view kBody = R"html(<header>
<h1>Listening sheet</h1>
<p id="where" role="status" aria-live="polite"></p>
<label>Your name or initials <input id="listener" autocomplete="off" maxlength="40"></label>
<button id="export" type="button">Save answers (CSV)</button>
</header>
<main>
<p class="caution"><strong>Caution.</strong> People may be heard. If a voice must not be kept, note the clip and
tell whoever keeps the recordings: they can silence it there. Set the volume low before the first clip.</p>
<figure>
<div id="frame"><img id="picture" alt="Spectrogram: time to the right, pitch upwards, brightness is level">
<div id="needle"></div></div>
<audio id="sound" controls preload="auto"></audio>
</figure>
<form id="answers" autocomplete="off">
<fieldset id="heard"><legend>What do you hear? (as many as there are)</legend></fieldset>
<fieldset id="many"><legend>How many kinds of animal call? <kbd>+</kbd> <kbd>-</kbd></legend>
<button type="button" id="fewer" aria-label="fewer kinds">-</button><output id="kinds">0</output>
<button type="button" id="more" aria-label="more kinds">+</button></fieldset>
<fieldset id="full"><legend>How full of animal sound is the clip? <kbd>0</kbd> to <kbd>4</kbd></legend></fieldset>
<label><input type="checkbox" id="unsure"> I am unsure <kbd>u</kbd></label>
<label>Note <kbd>n</kbd> <input id="note" maxlength="300"></label>
</form>
<nav><button type="button" id="back">Back <kbd>&larr;</kbd></button>
<button type="button" id="next">Next <kbd>Enter</kbd></button></nav>
<p>Keys: <kbd>Space</kbd> play or pause, <kbd>Home</kbd> from the start, <kbd>Enter</kbd> or <kbd>&rarr;</kbd> next,
<kbd>&larr;</kbd> back, <kbd>Esc</kbd> leaves a text field. A clip counts as answered once you said how full it is. What
you answer is kept in this browser as you go; save the CSV when you are done, and whenever you like.</p>
<p id="trouble" role="alert"></p>
</main>
)html";

}  // namespace

std::string listening_page(const std::string& sheet, const std::vector<std::string>& clips,
                           double seconds, double plot_from, double plot_to) {
    const nlohmann::json data = {
        {"sheet", sheet}, {"clips", clips}, {"seconds", seconds}, {"plot", {plot_from, plot_to}}};
    // Names and hash are ours; nothing of the user's text enters the page.
    return fmt::format(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src 'self' "
        "file:; "
        "media-src 'self' file: blob:; style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n"
        "<title>Listening sheet</title>\n<style>\n{}</style>\n</head>\n<body>\n{}"
        "<script type=\"application/json\" "
        "id=\"sheet\">{}</script>\n<script>\n{}</script>\n</body>\n</html>\n",
        kListenStyle, kBody, data.dump(), kListenScript);
}

}  // namespace hearwood
