// What is read by headlamp: all that should be known of the card, and at the end, where the eye
// rests when the screen stands still, whether it may be wiped.
#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "base/text.h"
#include "card/file_copier.h"
#include "card/offload.h"

namespace hearwood {
namespace {

using Proof = FileOutcome::Proof;

class Words {
  public:
    Words(const OffloadResult& result, std::size_t most) : result_(result), most_(most) {}

    std::string text() {
        counts();
        if (!result_.stopped.empty()) line("The run was stopped: " + result_.stopped);
        if (result_.interrupted)
            line(
                "The run was interrupted. What is proved is kept: run the same command again to go "
                "on.");
        unproved();
        list("THE CARD CHANGED while it was copied", result_.changes);
        list("spoilt copies that were made anew", result_.repaired);
        list("see to these", result_.notes);
        left_out();
        outside();
        cautions();
        findings();
        return std::move(text_);
    }

    std::string verdict() {
        box();
        return std::move(text_);
    }

  private:
    void line(const std::string& words) { text_ += words + "\n"; }
    std::size_t number(const std::function<bool(const FileOutcome&)>& which) const {
        return static_cast<std::size_t>(
            std::count_if(result_.files.begin(), result_.files.end(), which));
    }
    /// `lines` under a heading with their number, cut after most_.
    void list(const std::string& head, const std::vector<std::string>& lines);
    void box();
    void doubts(const CopyPlace& place);
    void counts();
    void unproved();
    void left_out();
    void outside();
    void cautions();
    void findings();

    const OffloadResult& result_;
    std::size_t most_;
    std::string text_;
};

void Words::list(const std::string& head, const std::vector<std::string>& lines) {
    if (lines.empty()) return;
    line("");
    line(fmt::format("{} ({}):", head, grouped(lines.size())));
    for (std::size_t i = 0; i < lines.size() && i < most_; ++i) line("  " + lines[i]);
    if (lines.size() > most_)
        line(fmt::format("  and {} more: see {}/{}", grouped(lines.size() - most_),
                         printable(result_.folder), kOffloadReport));
}

void Words::box() {
    const std::string rule(64, '=');
    line(rule);
    line("  deployment " + printable(result_.deployment) + ", site " + printable(result_.site));
    if (result_.dry_run) {
        line("  DRY RUN: NOTHING WAS COPIED. DO NOT WIPE THIS CARD");
        line(rule);
        return;
    }
    const std::size_t proved = number([](const FileOutcome& file) { return file.proved(); });
    line(
        fmt::format("  {} OF {} FILES ARE PROVED", grouped(proved), grouped(result_.files.size())));
    std::size_t read_back = 0;
    for (const FileOutcome& file : result_.files) read_back += file.read_back;
    line(fmt::format("  {} on {} {} read back in this run:", counted(read_back, "copy", "copies"),
                     counted(result_.disks(), "disk"), read_back == 1 ? "was" : "were"));
    for (const CopyPlace& place : result_.places)
        line(fmt::format("    {} ({})", printable(place.folder), printable(place.disk.words())));
    if (result_.may_wipe()) {
        line("  THIS CARD MAY BE WIPED");
    } else {
        line("  DO NOT WIPE THIS CARD");
        line("  " + result_.why_not());
    }
    if (read_back > 0 && result_.read_once)
        line("  the card was read once: what it gave then is taken for what it holds");
    if (read_back > 0)
        for (const CopyPlace& place : result_.places) doubts(place);
    line(rule);
}

/// What the box cannot vouch for.
void Words::doubts(const CopyPlace& place) {
    const std::string folder = printable(place.folder);
    if (!place.past_memory) line("  not known whether this disk was read past memory: " + folder);
    if (place.disk.in_memory)
        line("  in the computer's memory, gone when it is switched off: " + folder);
    else if (!place.disk.known_device)
        line("  not known which device holds this folder: " + folder);
}

void Words::counts() {
    const std::size_t recordings = number([](const FileOutcome& file) { return file.recording; });
    const std::size_t others = result_.files.size() - recordings;
    std::uint64_t bytes = 0;
    for (const FileOutcome& file : result_.files) bytes += file.size;
    line(fmt::format(
        "on the card: {}{}, {} MB", counted(recordings, "recording"),
        others == 0 ? "" : " and " + counted(others, "other file") + " (logs, settings)",
        grouped((bytes + 999'999) / 1'000'000)));
    if (result_.dry_run) {
        line(fmt::format("would be copied to {}: {} MB", printable(result_.folder),
                         grouped((result_.bytes_needed + 999'999) / 1'000'000)));
        return;
    }
}

void Words::unproved() {
    std::vector<std::string> lines;
    std::size_t pending = 0;
    for (const FileOutcome& file : result_.files) {
        if (file.proof == Proof::salvaged || file.proof == Proof::failed)
            lines.push_back(printable(file.path) + ": " + printable(file.trouble));
        pending += file.proof == Proof::pending;
    }
    list("NOT PROVED", lines);
    if (pending > 0 && !result_.dry_run) {
        line("");
        line(counted(pending, "file") + " not reached yet: run the same command again to go on");
    }
    std::vector<std::string> renamed;
    for (const FileOutcome& file : result_.files)
        if (file.proved() && file.copy != file.path)
            renamed.push_back(printable(file.path) + " is at " + printable(file.copy) +
                              (file.proof == Proof::known_content
                                   ? ", where this content was copied before"
                                   : ", since another file of its name was there"));
    list("files whose copies have another name", renamed);
    std::vector<std::string> silenced;
    for (const FileOutcome& file : result_.files)
        if (file.silenced)
            silenced.push_back(printable(file.path) + " is at " + printable(file.copy));
    list(
        "forgotten before (hearwood/forgotten.csv): silent again in the copies, and not on the "
        "card",
        silenced);
}

void Words::left_out() {
    std::vector<std::string> lines;
    for (const LeftOut& thing : result_.left_out)
        lines.push_back(printable(thing.path) + ": " + printable(thing.reason));
    list("things on the card that were not copied", lines);
}

void Words::outside() {
    std::vector<std::string> lines;
    for (const std::string& path : result_.outside) lines.push_back(printable(path));
    list("recordings on this card that lie outside of the folder that was given", lines);
}

void Words::cautions() {
    std::vector<std::string> lines;
    for (const std::string& caution : result_.cautions) lines.push_back(printable(caution));
    list("reasons to doubt that this is the right card (you went on with --force)", lines);
}

void Words::findings() {
    for (std::size_t i = 0; i < result_.findings.size();) {
        const FindingCode code = result_.findings[i].code;
        std::vector<std::string> lines;
        for (; i < result_.findings.size() && result_.findings[i].code == code; ++i)
            lines.push_back(printable(result_.findings[i].subject.name) + ": " +
                            printable(result_.findings[i].what));
        list(heading(code), lines);
    }
}

}  // namespace

bool OffloadResult::all_proved() const {
    return std::all_of(files.begin(), files.end(),
                       [](const FileOutcome& file) { return file.proved(); });
}

std::size_t OffloadResult::disks() const {
    std::vector<Disk> all;
    for (const CopyPlace& place : places) all.push_back(place.disk);
    return count_disks(all);
}

std::string OffloadResult::why_not() const {
    const auto count = [this](bool LeftOut::*flag) {
        return std::count_if(left_out.begin(), left_out.end(),
                             [flag](const LeftOut& thing) { return thing.*flag; });
    };
    if (dry_run) return "nothing was copied";
    if (interrupted) return "the run was interrupted";
    if (!stopped.empty()) return "the run was stopped";
    if (!changes.empty()) return "the card changed while it was copied";
    if (!all_proved()) return "not every file is proved";
    if (!closed) return "the copies were not all read back";
    if (count(&LeftOut::hides) > 0) return "parts of the card could not be looked at";
    if (const auto dotted = count(&LeftOut::recording); dotted > 0)
        return counted(dotted, "recording was", "recordings were") +
               " left out, see above: rename or delete them";
    for (const CopyPlace& place : places)
        if (place.on_card)
            return printable(place.folder) +
                   " is on the card's own disk: what wipes the card takes it too";
    if (!outside.empty())
        return counted(outside.size(), "recording") +
               " of this card outside of the folder that was given: give the whole card";
    if (one_copy) return {};
    if (places.size() < 2)
        return "one copy is no second one: add --second DIR on another disk, or --one-copy";
    if (disks() < 2)
        return "both copies are on one disk: give --second on another disk, or add --one-copy";
    return {};
}

std::string this_run(const OffloadResult& result) {
    if (result.dry_run) return {};
    const auto with = [&result](Proof proof) {
        return static_cast<std::size_t>(
            std::count_if(result.files.begin(), result.files.end(),
                          [proof](const FileOutcome& file) { return file.proof == proof; }));
    };
    std::string text = fmt::format(
        "copied now and read back equal: {}; compared with copies that were there: {}\n",
        grouped(with(Proof::copied)),
        grouped(with(Proof::proved_before) + with(Proof::known_content)));
    if (result.measured > 0) text += "measured: " + counted(result.measured, "recording") + "\n";
    return text;
}

std::string card_in_words(const OffloadResult& result, std::size_t most) {
    return Words(result, most).text();
}

std::string verdict(const OffloadResult& result) {
    return Words(result, 0).verdict();
}

}  // namespace hearwood
