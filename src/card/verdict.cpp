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
        left_out();
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
    void counts();
    void unproved();
    void left_out();
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
    if (result_.dry_run) {
        line("  DRY RUN: NOTHING WAS COPIED. DO NOT WIPE THIS CARD");
    } else {
        const std::size_t proved = number([](const FileOutcome& file) { return file.proved(); });
        line(fmt::format("  {} OF {} FILES ARE PROVED", grouped(proved),
                         grouped(result_.files.size())));
        line(result_.may_wipe() ? "  THIS CARD MAY BE WIPED" : "  DO NOT WIPE THIS CARD");
    }
    line(rule);
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
    line("copies: " + printable(result_.folder) +
         (result_.second_folder.empty() ? "" : " and " + printable(result_.second_folder)));
    if (result_.same_disk)
        line("Both copies are on the same disk: the second does not outlive it.");
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
}

void Words::left_out() {
    std::vector<std::string> lines;
    for (const LeftOut& thing : result_.left_out)
        lines.push_back(printable(thing.path) + ": " + printable(thing.reason));
    list("things on the card that were not copied", lines);
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
    if (!result.past_cache)
        text +=
            "The file system offers no way to read past the system's memory: the copies were "
            "compared as the "
            "system holds them.\n";
    return text;
}

std::string card_in_words(const OffloadResult& result, std::size_t most) {
    return Words(result, most).text();
}

std::string verdict(const OffloadResult& result) {
    return Words(result, 0).verdict();
}

}  // namespace hearwood
