// libsndfile decodes; which bytes it sees is decided here. Of a plain WAV or RF64 it is shown the
// samples alone, as raw PCM: where they begin and end was worked out by walk_wave(), which knows
// damaged headers. Everything else it is shown whole.
#include "audio/audio_file.h"

#include <algorithm>
#include <cstring>
#include <limits>
#include <optional>
#include <utility>

#include "audio/byte_source.h"
#include "audio/container.h"
#include "audio/frame_stream.h"
#include "audio/missing_end.h"
#include "audio/wave_layout.h"
#include "base/text.h"

namespace hearwood {

struct AudioFile::State {
    explicit State(ByteSource source) : stream(std::move(source)) {}

    FrameStream stream;
    AudioInfo info;
    Metadata metadata;
    std::vector<Damage> damages;
    std::uint64_t end = 0;     // frames that can be read, as far as is known
    bool ended_early = false;  // the last damage then tells why

    std::size_t read(std::uint64_t from, void* interleaved, std::size_t count, SampleFormat as);
    void note_early_end();
    void take_wave(WaveLayout layout);
    bool take_sound();
    void count_frames();
};

std::size_t bytes_of(SampleFormat format) {
    switch (format) {
        case SampleFormat::int16:
            return 2;
        case SampleFormat::int32:
        case SampleFormat::float32:
            return 4;
        case SampleFormat::float64:
            return 8;
    }
    return 0;
}

std::size_t AudioFile::State::read(std::uint64_t from, void* interleaved, std::size_t count,
                                   SampleFormat as) {
    if (from >= end) return 0;
    const std::uint64_t wanted = std::min<std::uint64_t>(count, end - from);
    const std::uint64_t done = stream.read(from, interleaved, wanted, as);
    if (done < wanted) {
        end = from + done;
        note_early_end();
        stream.reopen();
    }
    return static_cast<std::size_t>(done);
}

/// Fewer frames came than info.frames said: say why, once; a further, earlier end replaces it.
void AudioFile::State::note_early_end() {
    Damage damage{DamageKind::truncated, stream.byte_position(), 0, 0};
    if (const auto& failure = stream.source().failure()) {
        damage.kind = DamageKind::read_error;
        damage.byte = failure->byte;
    } else if (stream.byte_position() < stream.byte_end()) {
        damage.kind = DamageKind::decode_error;
    }
    damage.seconds_lost = static_cast<double>(info.frames - end) / info.sample_rate;
    if (ended_early) damages.pop_back();
    damages.push_back(damage);
    ended_early = true;
}

AudioFile::AudioFile(std::unique_ptr<State> state) : state_(std::move(state)) {}
AudioFile::AudioFile(AudioFile&&) noexcept = default;
AudioFile& AudioFile::operator=(AudioFile&&) noexcept = default;
AudioFile::~AudioFile() = default;

const AudioInfo& AudioFile::info() const {
    return state_->info;
}
const Metadata& AudioFile::metadata() const {
    return state_->metadata;
}
const std::vector<Damage>& AudioFile::damages() const {
    return state_->damages;
}

std::size_t AudioFile::read(std::uint64_t from, void* interleaved, std::size_t count) {
    return state_->read(from, interleaved, count, state_->info.format);
}

std::size_t AudioFile::read_float(std::uint64_t from, float* interleaved, std::size_t count) {
    return state_->read(from, interleaved, count, SampleFormat::float32);
}

void AudioFile::check_end() {
    State& state = *state_;
    if (!state.info.seeks_cheaply || state.end == 0 || state.ended_early) return;
    alignas(double) char frame[kMostAudioChannels * sizeof(double)];
    read(state.end - 1, frame, 1);
    if (!state.ended_early) return;
    // The jump tells that the end is missing, not where the sound ends: reading does.
    state.ended_early = false;
    state.damages.pop_back();
    state.end = state.info.frames;
    constexpr std::size_t kBlock = 4096;
    std::vector<char> block(state.info.frame_bytes() * kBlock);
    for (std::uint64_t at = 0; at < state.end; at += kBlock) read(at, block.data(), kBlock);
}

namespace {

Unreadable unknown_kind(std::string_view first_bytes) {
    return {UnreadableKind::not_audio,
            "not sound: it begins with \"" + printable(first_bytes) +
                "\", which no format that is read here does",
            "take it out of the folder, or copy it again from the card"};
}

Unreadable cannot_decode(FrameStream& stream) {
    if (const auto& failure = stream.source().failure())
        return {UnreadableKind::io_error,
                std::string("the disk could not be read: ") + std::strerror(failure->error_number),
                "copy it again, from another card reader if there is one"};
    // libsndfile refuses a CAF whose end is missing.
    if (const auto damage = missing_end(stream.source(), 0))
        return {UnreadableKind::not_audio, describe(*damage), "copy it again from the card"};
    std::string why = stream.why_not();
    while (!why.empty() && (why.back() == '.' || why.back() == '\n')) why.pop_back();
    return {UnreadableKind::not_audio, "the header is broken (" + printable(why) + ")",
            "copy it again from the card"};
}

const Unreadable kNoSamples{UnreadableKind::no_samples, "a header with no samples behind it",
                            "the recorder stopped before it wrote any sound"};

}  // namespace

void AudioFile::State::take_wave(WaveLayout layout) {
    const int subtype = sndfile_subtype(layout.coding);
    const SampleType type = sample_type(subtype);
    info.container = layout.container;
    info.sample_rate = static_cast<int>(layout.sample_rate);
    info.channels = layout.channels;
    info.format = type.format;
    info.bits = std::min(layout.bits, type.bits);
    info.frames = layout.frames;
    metadata = std::move(layout.metadata);
    damages = std::move(layout.damages);
    stream.open_samples(layout.data_begin, layout.data_bytes(), info.sample_rate, info.channels,
                        subtype);
}

/// What libsndfile found in the whole file.
bool AudioFile::State::take_sound() {
    if (!stream.open_whole()) return false;
    const SF_INFO& found = stream.sndfile_info();
    const SampleType type = sample_type(found.format);
    info.container = container_name(found.format);
    info.sample_rate = found.samplerate;
    info.channels = found.channels;
    info.format = type.format;
    info.bits = type.bits;
    info.frames = static_cast<std::uint64_t>(std::max<sf_count_t>(found.frames, 0));
    const bool length_unknown = found.frames == std::numeric_limits<sf_count_t>::max();
    info.seeks_cheaply = found.seekable != 0 && !length_unknown && info.container != "OGG" &&
                         info.container != "MP3";
    return true;
}

/// A header that holds no length, or one that the file cannot hold: decode once and count.
void AudioFile::State::count_frames() {
    const bool unknown =
        info.frames == static_cast<std::uint64_t>(std::numeric_limits<sf_count_t>::max());
    const bool impossible = !unknown && info.container == "FLAC" &&
                            info.frames > most_flac_frames(stream.source().size());
    if (!unknown && !impossible) return;
    constexpr std::size_t kBlock = 4096;
    std::vector<char> block(info.frame_bytes() * kBlock);
    std::uint64_t frames = 0;
    while (const std::uint64_t got = stream.read(frames, block.data(), kBlock, info.format))
        frames += got;
    const auto lost = static_cast<double>(info.frames - frames) / info.sample_rate;
    if (impossible)
        damages.push_back({DamageKind::truncated, stream.byte_end(), 0, lost});
    else if (info.container != "OGG")  // whose length stands in its last page: see missing_end()
        damages.push_back({DamageKind::header_unfinished, 0, 0, 0});
    // Where reading ended before the bytes did, nobody knows how much sound there was.
    if (const auto& failure = stream.source().failure())
        damages.push_back({DamageKind::read_error, failure->byte, 0, 0});
    else if (unknown && stream.byte_position() < stream.byte_end())
        damages.push_back({DamageKind::decode_error, stream.byte_position(), 0, 0});
    info.frames = frames;
    stream.reopen();
}

std::variant<AudioFile, Unreadable> open_audio(const std::filesystem::path& path) {
    auto opened = ByteSource::open(path);
    if (auto* bad = std::get_if<Unreadable>(&opened)) return std::move(*bad);
    auto state = std::make_unique<AudioFile::State>(std::move(std::get<ByteSource>(opened)));
    ByteSource& source = state->stream.source();
    if (source.size() == 0)
        return Unreadable{UnreadableKind::empty, "the file is empty (0 bytes)",
                          "the recorder stopped before it wrote anything"};

    char first[12];
    const std::size_t got = source.read_at(0, first, sizeof first);
    if (source.failure()) return cannot_decode(state->stream);
    const Container container = container_of({first, got});
    if (container == Container::none) return unknown_kind({first, std::min<std::size_t>(got, 8)});

    bool laid_out = false;
    if (container == Container::wave) {
        auto walked = walk_wave(source);
        if (auto* bad = std::get_if<Unreadable>(&walked)) return std::move(*bad);
        auto& layout = std::get<WaveLayout>(walked);
        laid_out = layout.coding != WaveCoding::other;
        if (laid_out)
            state->take_wave(std::move(layout));
        else
            state->metadata = std::move(layout.metadata);
    }
    if (!laid_out && !state->take_sound()) return cannot_decode(state->stream);

    AudioInfo& info = state->info;
    if (auto refusal = implausible(info.channels, info.sample_rate)) return std::move(*refusal);
    state->stream.set_type(info.format, info.channels, info.seeks_cheaply);
    state->count_frames();
    if (info.frames == 0) return kNoSamples;
    if (!laid_out)
        if (const auto damage = missing_end(source, info.seconds()))
            state->damages.push_back(*damage);
    info.file_bytes = source.size();
    state->end = info.frames;
    return AudioFile(std::move(state));
}

}  // namespace hearwood
