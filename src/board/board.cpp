#include "board/board.h"

#include <algorithm>
#include <cstdlib>
#include <tuple>

#include "aggregate/card_evidence.h"
#include "aggregate/decided.h"
#include "aggregate/judged_segments.h"
#include "aggregate/placement.h"
#include "audio/inventory.h"
#include "base/error.h"
#include "base/text.h"
#include "card/offload_note.h"
#include "card/proof_dates.h"
#include "survey/clock.h"

namespace hearwood {

namespace {

constexpr std::size_t kDateLength = 10;  // 2031-05-04

/// Recordings that lie in a folder that survey.db knows nothing of.
std::size_t files_in(const Survey& survey, const Deployment& deployment) {
    try {
        return list_recordings(survey.folder / deployment.folder).recordings.size();
    } catch (const InputError&) {
        return 0;
    }
}

class Board {
  public:
    Board(const Survey& survey, const Store& store)
        : survey_(survey),
          store_(store),
          placer_(survey),
          decided_(survey),
          visits_(visits_of_sites(survey)) {}

    std::vector<BoardLine> lines() {
        std::vector<CardTraits> cards;
        for (const std::size_t d : deployments_by_name(survey_)) {
            const auto all = recordings_of(survey_, store_, placer_, d);
            cards.push_back(card_traits(survey_, placer_, store_, d, all));
            lines_.push_back(line_of(d, all, cards.back()));
        }
        for (Finding& finding : card_evidence(survey_, placer_, cards)) place(std::move(finding));
        for (BoardLine& line : lines_) settle(line);
        std::stable_sort(lines_.begin(), lines_.end(), [](const BoardLine& a, const BoardLine& b) {
            return std::tuple(-a.visit, a.urgency) < std::tuple(-b.visit, b.urgency);
        });
        return std::move(lines_);
    }

  private:
    BoardLine line_of(std::size_t d, const std::vector<KnownRecording>& all,
                      const CardTraits& card) const;
    void take_proofs(const std::vector<KnownRecording>& all, BoardLine& line) const;
    void place(Finding finding);
    void settle(BoardLine& line) const;

    const Deployment& sheet(const BoardLine& line) const {
        return survey_.deployments[line.deployment];
    }

    const Survey& survey_;
    const Store& store_;
    Placer placer_;
    Decided decided_;
    std::vector<int> visits_;
    std::vector<BoardLine> lines_;
};

BoardLine Board::line_of(std::size_t d, const std::vector<KnownRecording>& all,
                         const CardTraits& card) const {
    BoardLine line;
    line.deployment = d;
    line.visit = visits_[d];
    line.measured = !all.empty();
    bool reset = false;
    for (const KnownRecording& r : all) {
        if (r.row.gone) continue;
        ++line.files;
        reset = reset || r.has(Oddity::clock_reset);
        line.measured = line.measured && r.row.state != RecordingState::pending;
    }
    line.heard = card.sound.segments > 0;
    take_proofs(all, line);
    if (all.empty()) line.files = files_in(survey_, sheet(line));
    DeploymentCoverage coverage = coverage_of(survey_, placer_, d, all, nullptr);
    line.hours = coverage.present / 60;
    line.expected_hours = coverage.expected / 60;
    const bool proved = line.files > 0 && (line.copies > 0 || !line.may_wipe);
    // What is not wholly here yet has holes of its own.
    line.left_out = decided_.left_out_whole(d, "").has_value();
    if (proved && !all.empty() && !line.left_out) line.findings = std::move(coverage.findings);
    const auto checks = placer_.clock(d).checks();
    line.clock = reset                                   ? "reset"
                 : checks == RecorderClock::Checks::both ? "checked"
                 : checks == RecorderClock::Checks::one  ? "1 check"
                                                         : "unchecked";
    return line;
}

/// From the list beside the copies, and from what the last offload said.
void Board::take_proofs(const std::vector<KnownRecording>& all, BoardLine& line) const {
    const Deployment& deployment = sheet(line);
    const ProofDates dates = ProofDates::load(survey_.folder / deployment.folder);
    for (const KnownRecording& r : all) {
        if (r.row.gone) continue;
        const std::string path = name_from_utf8(r.row.path);
        const std::size_t below = deployment.folder.size() + 1;
        const std::string date = path.size() > below ? dates.find(path.substr(below)) : "";
        if (date.empty() || date == ProofDates::kSalvaged) continue;
        ++line.proved;
        if (line.read_back.empty() || date < line.read_back) line.read_back = date;
    }
    const bool whole = line.files > 0 && line.proved == line.files;
    if (!whole) line.read_back.clear();
    line.read_back.resize(std::min(line.read_back.size(), kDateLength));
    line.copies = whole ? 1 : 0;
    const auto note = kept_note(store_, deployment.name);
    if (!note) return;
    const bool unfinished = is_unfinished(survey_.folder / deployment.folder);
    line.may_wipe = note->may_wipe && whole && !unfinished;
    line.why_not = !note->may_wipe ? note->why_not
                   : !whole        ? "not every copy here is proved"
                   : unfinished    ? "the last offload has not come to its end"
                                   : "";
    if (whole && !unfinished) line.copies = std::max(line.copies, note->disks);
}

void Board::place(Finding finding) {
    for (BoardLine& line : lines_) {
        if (sheet(line).name != finding.subject.name) continue;
        if (finding.code == FindingCode::dead_microphone || finding.code == FindingCode::other_gain)
            line.microphone = finding.code;
        if (finding.code == FindingCode::hours_off) line.clock = "hours off";
        line.findings.push_back(std::move(finding));
        return;
    }
}

bool has(const BoardLine& line, FindingCode code) {
    return std::any_of(line.findings.begin(), line.findings.end(),
                       [code](const Finding& finding) { return finding.code == code; });
}

struct Next {
    int urgency;
    std::string what;
};

/// What is lost first comes first: sound that lies on one card alone, then what can be set right
/// while the recorder can still go back, then what keeps till evening.
Next next_of(const BoardLine& line) {
    const bool offloaded = line.may_wipe.has_value();
    if (offloaded && line.copies == 0) return {0, "offload it again"};
    if (has(line, FindingCode::dead_microphone)) return {1, "change microphone"};
    if (has(line, FindingCode::swapped)) return {1, "swapped card?"};
    if (has(line, FindingCode::hours_off)) return {1, "set its clock"};
    if (has(line, FindingCode::clock_reset)) return {1, "set its clock"};
    if (line.files == 0) return {3, "offload its card"};
    if (offloaded && !*line.may_wipe)
        return line.copies == 1 ? Next{2, "second copy"} : Next{2, "see OFFLOAD.txt"};
    if (!offloaded && line.copies == 0) return {4, "prove its copies"};
    if (line.left_out) return {8, "left out"};
    if (has(line, FindingCode::other_gain)) return {4, "check its gain"};
    for (const Finding& finding : line.findings)
        if (finding.severity == Severity::serious) return {5, title(finding.code)};
    if (!line.measured) return {6, "measure"};
    if (line.clock == "unchecked" || line.clock == "1 check") return {7, "enter clock checks"};
    return {9, ""};
}

void Board::settle(BoardLine& line) const {
    const Next next = next_of(line);
    line.urgency = next.urgency;
    line.next = next.what;
}

}  // namespace

std::vector<BoardLine> board(const Survey& survey, const Store& store) {
    return Board(survey, store).lines();
}

BoardLine board_line(const Survey& survey, const Store& store, const std::string& deployment) {
    for (const BoardLine& line : board(survey, store))
        if (survey.deployments[line.deployment].name == deployment) return line;
    throw std::logic_error("no such deployment");
}

}  // namespace hearwood
