#include "audio/damage.h"

#include <fmt/format.h>

#include "base/text.h"

namespace hearwood {
namespace {

std::string amount(const Damage& damage) {
    std::string text = counted(damage.bytes_lost, "byte");
    if (damage.seconds_lost >= 0.0005) text += fmt::format(" ({:.3f} s)", damage.seconds_lost);
    return text;
}

}  // namespace

const char* name_of(DamageKind kind) {
    switch (kind) {
        case DamageKind::truncated:
            return "truncated";
        case DamageKind::header_unfinished:
            return "header never finished";
        case DamageKind::odd_bytes:
            return "odd bytes at the end";
        case DamageKind::read_error:
            return "read error";
        case DamageKind::decode_error:
            return "decoding error";
    }
    return "damaged";
}

std::string describe(const Damage& damage) {
    const std::string at = grouped(damage.byte);
    const std::string name = name_of(damage.kind);
    switch (damage.kind) {
        case DamageKind::truncated:
            if (damage.bytes_lost > 0)
                return fmt::format(
                    "{}: the file ends at byte {}, {} before what its header promises", name, at,
                    amount(damage));
            if (damage.seconds_lost <= 0)
                return fmt::format(
                    "{}: the file ends at byte {}, in the middle of its sound; how much is "
                    "missing is not known",
                    name, at);
            return fmt::format("{}: the sound ends {:.3f} s before what the header promises", name,
                               damage.seconds_lost);
        case DamageKind::header_unfinished:
            return name + ": the length is taken from the length of the file";
        case DamageKind::odd_bytes:
            return fmt::format("{}: {} from byte {} on belong to no sample and no chunk", name,
                               amount(damage), at);
        case DamageKind::read_error:
            return fmt::format("{}: the disk could not be read at byte {}; ", name, at) +
                   (damage.seconds_lost > 0 ? fmt::format("{:.3f} s are lost", damage.seconds_lost)
                                            : "how much is lost is not known");
        case DamageKind::decode_error:
            return name + ": the compressed sound is spoilt" +
                   (damage.seconds_lost > 0
                        ? fmt::format(" {:.3f} s before its end", damage.seconds_lost)
                        : ", by how much is not known");
    }
    return name_of(damage.kind);
}

}  // namespace hearwood
