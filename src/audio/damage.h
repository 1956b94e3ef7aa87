// What can be wrong with a recording of which something can still be used, and why one cannot be
// used at all.
#pragma once

#include <cstdint>
#include <string>

namespace hearwood {

enum class DamageKind {
    truncated,          ///< the header promises more samples than the file holds
    header_unfinished,  ///< the header was never finished: the length comes from the file's
    odd_bytes,          ///< bytes after the last whole frame that make no frame
    read_error,         ///< the disk could not read on from here
    decode_error,       ///< the compressed stream cannot be decoded from here on
};

/// "truncated", "header never finished" ...: for listings; fixed wording.
const char* name_of(DamageKind kind);

struct Damage {
    DamageKind kind;
    std::uint64_t byte = 0;        ///< where in the file it begins, from 0
    std::uint64_t bytes_lost = 0;  ///< 0: nothing lost, or not known
    double seconds_lost = 0;       ///< 0: nothing lost, or not known
};

/// "truncated: the file ends at byte 1,044, 2,000 bytes (0.021 s) before what its header promises".
/// One line.
std::string describe(const Damage& damage);

enum class UnreadableKind {
    missing,        ///< no such file
    no_permission,  ///< the system does not let us read it
    not_a_file,     ///< a folder, a device, a pipe
    empty,          ///< zero length
    not_audio,      ///< nothing that can be opened as sound
    no_samples,     ///< a proper header and nothing behind it
    implausible,    ///< 0 channels, a rate that no recorder has ...
    io_error,       ///< the disk could not read it
};

/// A recording that cannot be used, and why.
struct Unreadable {
    UnreadableKind kind;
    std::string reason;  ///< what is wrong and why, one line, no full stop, no file name in it
    std::string fix;     ///< what to do about it; may be empty
};

}  // namespace hearwood
