#include "audio/container.h"

#include "base/text.h"

namespace hearwood {

Container container_of(std::string_view bytes) {
    const std::string_view id = bytes.substr(0, 4);
    const bool is_wave = bytes.size() >= 12 && bytes.substr(8, 4) == "WAVE";
    if ((id == "RIFF" || id == "RF64" || id == "BW64") && is_wave) return Container::wave;
    for (const std::string_view magic : {"fLaC", "OggS", "FORM", ".snd", "caff", "riff", "RIFX"})
        if (id == magic) return Container::other_sound;
    const bool is_mp3 = bytes.substr(0, 3) == "ID3" ||
                        (bytes.size() >= 2 && bytes[0] == '\xFF' && (bytes[1] & 0xE0) == 0xE0);
    return is_mp3 ? Container::other_sound : Container::none;
}

std::optional<Unreadable> implausible(std::int64_t channels, std::int64_t sample_rate) {
    std::string what;
    if (channels < 1 || channels > kMostAudioChannels)
        what = grouped(channels) + " channels; a recording has 1 to " + grouped(kMostAudioChannels);
    else if (sample_rate < kLowestSampleRate || sample_rate > kHighestSampleRate)
        what = grouped(sample_rate) + " Hz; sample rates run from " + grouped(kLowestSampleRate) +
               " to " + grouped(kHighestSampleRate) + " Hz";
    else
        return std::nullopt;
    return Unreadable{UnreadableKind::implausible, "the header says " + what,
                      "the header is broken, or this is no recording; nothing of it was used"};
}

std::string container_name(int format) {
    switch (format & SF_FORMAT_TYPEMASK) {
        case SF_FORMAT_WAV:
        case SF_FORMAT_WAVEX:
            return "WAV";
        case SF_FORMAT_RF64:
            return "RF64";
        case SF_FORMAT_W64:
            return "W64";
        case SF_FORMAT_FLAC:
            return "FLAC";
        case SF_FORMAT_OGG:
            return "OGG";
        case SF_FORMAT_AIFF:
            return "AIFF";
        case SF_FORMAT_AU:
            return "AU";
        case SF_FORMAT_CAF:
            return "CAF";
        case SF_FORMAT_MPEG:
            return "MP3";
        default:
            return "other";
    }
}

SampleType sample_type(int format) {
    switch (format & SF_FORMAT_SUBMASK) {
        case SF_FORMAT_PCM_S8:
        case SF_FORMAT_PCM_U8:
            return {SampleFormat::int16, 8};
        case SF_FORMAT_PCM_16:
        case SF_FORMAT_ALAC_16:
            return {SampleFormat::int16, 16};
        case SF_FORMAT_ALAC_20:
            return {SampleFormat::int32, 20};
        case SF_FORMAT_PCM_24:
        case SF_FORMAT_ALAC_24:
            return {SampleFormat::int32, 24};
        case SF_FORMAT_PCM_32:
        case SF_FORMAT_ALAC_32:
            return {SampleFormat::int32, 32};
        case SF_FORMAT_FLOAT:
            return {SampleFormat::float32, 32};
        case SF_FORMAT_DOUBLE:
            return {SampleFormat::float64, 64};
        case SF_FORMAT_VORBIS:
        case SF_FORMAT_OPUS:
        case SF_FORMAT_MPEG_LAYER_I:
        case SF_FORMAT_MPEG_LAYER_II:
        case SF_FORMAT_MPEG_LAYER_III:
            return {SampleFormat::float32, 0};
        default:
            return {SampleFormat::int16, 0};  // companded and differential codes, all of 16 bit
    }
}

int sndfile_subtype(WaveCoding coding) {
    switch (coding) {
        case WaveCoding::unsigned8:
            return SF_FORMAT_PCM_U8;
        case WaveCoding::pcm16:
            return SF_FORMAT_PCM_16;
        case WaveCoding::pcm24:
            return SF_FORMAT_PCM_24;
        case WaveCoding::pcm32:
            return SF_FORMAT_PCM_32;
        case WaveCoding::float32:
            return SF_FORMAT_FLOAT;
        case WaveCoding::float64:
            return SF_FORMAT_DOUBLE;
        case WaveCoding::other:
            break;
    }
    return 0;
}

}  // namespace hearwood
