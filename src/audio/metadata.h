// Text that recorders write into a recording beside the samples.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace hearwood {

/// The fields of a bext chunk that are of use here (EBU Tech 3285: fixed-width text, cut at the
/// first NUL). Bytes as they stand in the file: show them through printable().
struct BroadcastText {
    std::string description;           ///< at most 256 bytes
    std::string originator;            ///< at most 32
    std::string originator_reference;  ///< at most 32; often holds a serial number
    std::string origination_date;      ///< "yyyy-mm-dd", separators vary
    std::string origination_time;      ///< "hh:mm:ss", separators vary
};

struct Metadata {
    std::optional<BroadcastText> bext;
    std::string guano;  ///< the text of the guan chunk, at most 64 KiB; empty when there is none
};

/// The value of a GUANO field ("Timestamp", "Serial", "Loc Position" ...): "Key: value", one a
/// line. Nothing when the text has no such field. Keys are compared without regard to case.
std::optional<std::string> guano_value(std::string_view guano, std::string_view key);

/// The recorder's serial number as the recording tells it: GUANO "Serial", else bext
/// OriginatorReference, else empty. (That OriginatorReference holds the serial number is common
/// practice, not the standard's rule.)
std::string recorder_serial(const Metadata& metadata);

}  // namespace hearwood
