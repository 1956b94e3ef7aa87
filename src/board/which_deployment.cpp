#include "board/which_deployment.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "audio/audio_file.h"
#include "audio/inventory.h"
#include "audio/recorder_mark.h"
#include "audio/start_time.h"
#include "base/error.h"
#include "base/text.h"
#include "survey/clock.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

// What each kind of evidence is worth; files that are there already say most, an empty folder
// least.
constexpr int kSameFiles = 5, kOwnMark = 3, kKnownMark = 3, kOwnDates = 2, kSameRate = 1,
              kNothingYet = 1, kOtherDates = -4;
constexpr double kMostlyInside = 0.9, kMostlyOutside = 0.5;
constexpr std::size_t kShown = 4;

/// What can be seen of a card without copying it.
struct CardLook {
    std::set<std::pair<std::string, std::int64_t>> files;  ///< path and size
    std::vector<RecordedStart> starts;
    std::string prefix, serial;
    int sample_rate = 0;
};

CardLook look_at(const Survey& survey, const std::filesystem::path& card) {
    const Inventory inventory = list_recordings(card);
    if (inventory.recordings.empty())
        throw InputError(printable(card.native()) + ": no recordings in it",
                         "is the card mounted, and is this its folder?");
    CardLook look;
    const StartTimeReader names(survey.start_time_pattern);
    std::vector<std::string> prefixes;
    for (const FoundFile& file : inventory.recordings) {
        look.files.emplace(name_to_utf8(file.path), static_cast<std::int64_t>(file.size));
        prefixes.push_back(names.prefix_of(file.path));
        if (const auto start = names.from_name(file.path)) look.starts.push_back(*start);
    }
    look.prefix = identifying_prefix(prefixes);
    for (const FoundFile& file : inventory.recordings) {
        auto opened = open_audio(card / file.path);
        const auto* audio = std::get_if<AudioFile>(&opened);
        if (!audio) continue;
        look.serial = name_to_utf8(recorder_serial(audio->metadata()));
        look.sample_rate = audio->info().sample_rate;
        break;
    }
    return look;
}

/// What earlier cards showed.
struct Known {
    std::size_t files_there = 0, rows = 0;
    std::set<std::string> marks;
    std::set<int> rates;
};

class Guesser {
  public:
    Guesser(const Survey& survey, const Store& store, CardLook look)
        : survey_(survey), look_(std::move(look)) {
        const StartTimeReader names(survey.start_time_pattern);
        store.for_each_recording([&](const RecordingRow& row) {
            Known& known = known_[row.deployment];
            ++known.rows;
            known.files_there += look_.files.contains({row.card_path, row.size}) ? 1 : 0;
            if (!row.serial.empty()) known.marks.insert(bare_mark(row.serial));
            const std::string& path = row.card_path.empty() ? row.path : row.card_path;
            if (const std::string prefix = names.prefix_of(name_from_utf8(path));
                identifies(prefix))
                known.marks.insert(bare_mark(prefix));
            if (row.sample_rate > 0) known.rates.insert(row.sample_rate);
        });
    }

    std::vector<CardGuess> guesses() {
        std::vector<CardGuess> all;
        for (std::size_t d = 0; d < survey_.deployments.size(); ++d)
            if (CardGuess guess = guess_of(d); guess.points > kNothingYet)
                all.push_back(std::move(guess));
        std::stable_sort(all.begin(), all.end(), [&](const CardGuess& a, const CardGuess& b) {
            if (a.points != b.points) return a.points > b.points;
            return survey_.deployments[a.deployment].name < survey_.deployments[b.deployment].name;
        });
        return all;
    }

  private:
    CardGuess guess_of(std::size_t d);
    void by_marks(const Deployment& deployment, CardGuess& guess) const;
    void by_dates(const Deployment& deployment, CardGuess& guess) const;

    static void add(CardGuess& guess, int points, std::string reason) {
        guess.points += points;
        if (!reason.empty()) guess.reasons.push_back(std::move(reason));
    }

    const Survey& survey_;
    CardLook look_;
    std::map<std::string, Known> known_;  ///< by deployment
};

CardGuess Guesser::guess_of(std::size_t d) {
    const Deployment& deployment = survey_.deployments[d];
    CardGuess guess{d, 0, {}};
    const Known& own = known_[deployment.name];
    if (own.files_there > 0)
        add(guess, kSameFiles,
            fmt::format("{} of its {} were copied for it before", own.files_there,
                        counted(look_.files.size(), "file")));
    by_marks(deployment, guess);
    by_dates(deployment, guess);
    for (const Deployment& other : survey_.deployments)
        if (&other != &deployment && other.recorder == deployment.recorder &&
            !other.recorder.empty() && known_[other.name].rates.contains(look_.sample_rate)) {
            add(guess, kSameRate,
                fmt::format("it has the sample rate of the recorder's other card, {} Hz",
                            look_.sample_rate));
            break;
        }
    if (own.rows == 0) add(guess, kNothingYet, "nothing was copied for it yet");
    return guess;
}

void Guesser::by_marks(const Deployment& deployment, CardGuess& guess) const {
    const std::string& site = survey_.sites[deployment.site].name;
    for (const auto& [mark, what] :
         {std::pair{look_.serial, "the serial number in its files"},
          std::pair{look_.prefix, "the beginning of its files' names"}}) {
        const std::string bare = bare_mark(mark);
        if (bare.empty()) continue;
        if (bare == bare_mark(deployment.recorder))
            return add(guess, kOwnMark,
                       fmt::format("{} is {}, its recorder", what, printable(mark)));
        if (bare == bare_mark(deployment.name) || bare == bare_mark(site))
            return add(guess, kOwnMark, fmt::format("{} is {}", what, printable(mark)));
        for (const Deployment& other : survey_.deployments) {
            const auto known = known_.find(other.name);
            if (!deployment.recorder.empty() && other.recorder == deployment.recorder &&
                known != known_.end() && known->second.marks.contains(bare))
                return add(guess, kKnownMark,
                           fmt::format("{} is {}, as on another card of its recorder {}", what,
                                       printable(mark), printable(deployment.recorder)));
        }
    }
}

void Guesser::by_dates(const Deployment& deployment, CardGuess& guess) const {
    if (look_.starts.empty() || !deployment.start || !deployment.end) return;
    const Zone zone = Zone::named(survey_.time_zone);
    const RecorderClock clock(survey_, deployment);
    const auto inside =
        std::count_if(look_.starts.begin(), look_.starts.end(), [&](const RecordedStart& start) {
            const LocalTime local =
                zone.to_local(clock.read(start.wall, start.utc_offset).instant).time;
            return local >= *deployment.start && local < *deployment.end;
        });
    const double share = static_cast<double>(inside) / static_cast<double>(look_.starts.size());
    const auto date = [](LocalTime time) {
        return format_date(std::chrono::floor<std::chrono::days>(time));
    };
    if (share >= kMostlyInside)
        add(guess, kOwnDates,
            fmt::format("its recordings lie within the dates, {} to {}", date(*deployment.start),
                        date(*deployment.end)));
    else if (share < kMostlyOutside)
        add(guess, kOtherDates, "");
}

}  // namespace

std::vector<CardGuess> guess_deployment(const Survey& survey, const Store& store,
                                        const std::filesystem::path& card) {
    return Guesser(survey, store, look_at(survey, card)).guesses();
}

std::string guess_in_words(const Survey& survey, const std::vector<CardGuess>& guesses) {
    if (guesses.empty()) return "nothing on the card tells whose it is";
    const auto name = [&](const CardGuess& guess) {
        const Deployment& deployment = survey.deployments[guess.deployment];
        return fmt::format("{} (site {})", printable(deployment.name),
                           printable(survey.sites[deployment.site].name));
    };
    const std::string why = join(guesses.front().reasons, "; ");
    std::size_t alike = 1;
    while (alike < guesses.size() && guesses[alike].points == guesses.front().points) ++alike;
    if (alike == 1)
        return fmt::format("this looks like the card of deployment {}: {}", name(guesses.front()),
                           why);
    std::vector<std::string> names;
    for (std::size_t i = 0; i < std::min(alike, kShown); ++i) names.push_back(name(guesses[i]));
    std::string list = join(names, ", ");
    if (alike > kShown) list += fmt::format(" or {} more", alike - kShown);
    return fmt::format("this may be the card of {}: {}", list, why);
}

}  // namespace hearwood
