// Sound beside sight: up to three clips of 15 s for each site and window, chosen by a rule that can
// be said in a sentence.
//
// Among the kept, complete segments of the site and window that have a value of the index: the one
// whose value is the lower median of them, the highest and the lowest; of equal values the
// earliest. The clip is the middle 15 s of the segment, the channel the value came from, as
// recorded and no louder; only rates above 48 kHz (below 8 kHz) are brought there, since not every
// browser plays them. The picture shows the whole band.
//
// FLAC, since it is lossless: what is heard is what was measured, and the same survey gives the
// same bytes. Common browsers play it. (Ogg files carry a random stream number, and
// Vorbis and Opus leave out what people are thought not to hear.)
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "picture/spectrogram.h"
#include "report/segment_gatherer.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

inline constexpr double kClipSeconds = 15;

enum class ClipRule { median, highest, lowest };
/// "nearest the median", "highest", "lowest".
const char* word(ClipRule rule);

struct Clip {
    std::size_t site = 0;
    int window = 0;
    ClipRule rule{};
    std::string sound;        ///< relative to the page; empty: it could not be cut
    std::string picture;      ///< its spectrogram, relative to the page
    std::string why_not;      ///< when it could not be cut
    bool other_rate = false;  ///< the sound was brought to a rate that browsers play
    std::string recording;    ///< path from the survey folder
    int channel = 0;
    double from_s = 0, to_s = 0;  ///< of the recording
    Date date{};
    double minute = 0;           ///< of the local date, when the clip begins
    double value = 0;            ///< of the chosen index
    std::vector<double> values;  ///< of the segment, parallel to the store's columns
};

/// The chosen segments by site, window and rule; no sound is touched yet.
struct ChosenSegment {
    std::size_t site = 0;
    int window = 0;
    ClipRule rule{};
    Date date{};
    const SegmentPlace* place = nullptr;
};
std::vector<ChosenSegment> choose_segments(const SegmentGatherer& gathered, std::size_t windows);

/// A clip with its sound, as recorded.
struct CutClip {
    Clip clip;
    std::vector<float> sound;  ///< empty: clip.why_not says why
    int rate = 0, bits = 0;    ///< of the recording
};
CutClip read_clip(const Survey& survey, const Store& store, const SegmentGatherer& gathered,
                  const ChosenSegment& chosen);
/// 560 x 220 px, levels of its own.
SpectrogramOptions clip_picture();
/// Writes folder/STEM.flac and folder/STEM.png, if there is a sound, and names them in the clip.
void write_clip(CutClip& cut, const std::string& stem, const SpectrogramOptions& options,
                const std::filesystem::path& folder);

/// Cuts the clips into folder/clips/ and draws their spectrograms beside them. A recording that
/// cannot be read costs its clips only.
std::vector<Clip> cut_clips(const Survey& survey, const Store& store,
                            const SegmentGatherer& gathered, const std::filesystem::path& folder,
                            int jobs, bool quiet);

}  // namespace hearwood
