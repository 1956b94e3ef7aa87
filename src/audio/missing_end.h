// What the headers of formats other than WAV promise, held against the length of the file:
// libsndfile takes what is there of them and does not tell what is missing.
#pragma once

#include <cstdint>
#include <optional>

#include "audio/byte_source.h"
#include "audio/damage.h"

namespace hearwood {

/// The end that an AIFF (chunk SSND), an AU (its header), a CAF (chunk data) or an Ogg stream (RFC
/// 3533: a last page that says so) lacks; nothing when it is all there, promises no length, or is
/// of another format. Reads some kilobytes. `seconds_there` is the length of the sound that is
/// there, by which the loss is reckoned.
std::optional<Damage> missing_end(ByteSource& source, double seconds_there);

/// More samples a channel than a FLAC file of so many bytes can hold, whatever its header says: a
/// frame has at most 65,535 of them and at least 10 bytes (RFC 9639, section 9).
constexpr std::uint64_t most_flac_frames(std::uint64_t file_bytes) {
    return (file_bytes / 10 + 1) * 65'535;
}

}  // namespace hearwood
