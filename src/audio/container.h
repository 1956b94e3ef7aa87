// What kind of file it is, told from its first bytes, and what libsndfile's codes for formats mean
// to us.
#pragma once

#include <sndfile.h>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "audio/audio_file.h"
#include "audio/wave_layout.h"

namespace hearwood {

enum class Container { wave, other_sound, none };

/// Why no recorder has so many channels or such a rate (in Hz): the header is broken. Nothing when
/// both are plausible.
std::optional<Unreadable> implausible(std::int64_t channels, std::int64_t sample_rate);

/// From the first bytes of a file (12 are enough). libsndfile is only asked about what begins like
/// sound that we mean to read: it also knows formats so vague that a text file can pass for them.
Container container_of(std::string_view first_bytes);

/// "FLAC", "OGG" ... for the container part of a libsndfile format.
std::string container_name(int sndfile_format);

struct SampleType {
    SampleFormat format;
    int bits;  ///< 0: lossy
};
/// For the subtype part of a libsndfile format.
SampleType sample_type(int sndfile_format);

/// The libsndfile subtype that reads such samples raw. REQUIRES coding != other.
int sndfile_subtype(WaveCoding coding);

}  // namespace hearwood
