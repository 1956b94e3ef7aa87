#include "index/kept_spectrum.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "base/error.h"

namespace hearwood {
namespace {

constexpr char kSpectrumVersion = 1;
constexpr double kCodesPerDb = 100;
constexpr int kMostPower = 32767;
constexpr int kZeroPower = -32768;
constexpr int kMostShare = 254;
constexpr int kNoBackground = 255;

int power_code(float db) {
    if (std::isinf(db) && db < 0) return kZeroPower;
    const double code = std::nearbyint(static_cast<double>(db) * kCodesPerDb);
    return static_cast<int>(std::clamp<double>(code, -kMostPower, kMostPower));
}

int share_code(float share) {
    if (std::isnan(share)) return kNoBackground;
    if (share <= 0) return 0;
    const double code = std::nearbyint(kMostShare * std::sqrt(static_cast<double>(share)));
    return static_cast<int>(std::clamp<double>(code, 1, kMostShare));
}

float power_of(int code) {
    if (code == kZeroPower) return -std::numeric_limits<float>::infinity();
    return static_cast<float>(code / kCodesPerDb);
}

float share_of(int code) {
    if (code == kNoBackground) return std::numeric_limits<float>::quiet_NaN();
    const double root = static_cast<double>(code) / kMostShare;
    return static_cast<float>(root * root);
}

}  // namespace

KeptSpectrum kept_spectrum(const SegmentSummary& summary) {
    KeptSpectrum kept;
    for (std::size_t k = 0; k < summary.mean_power.size(); ++k) {
        kept.power_db.push_back(static_cast<float>(10 * std::log10(summary.mean_power[k])));
        kept.standout.push_back(summary.has_background[k]
                                    ? static_cast<float>(summary.standout_cells[k]) /
                                          static_cast<float>(summary.frames)
                                    : std::numeric_limits<float>::quiet_NaN());
    }
    return kept;
}

std::string encode(const KeptSpectrum& spectrum) {
    const std::size_t bins = spectrum.power_db.size();
    std::string bytes(1 + 3 * bins, kSpectrumVersion);
    for (std::size_t k = 0; k < bins; ++k) {
        const int code = power_code(spectrum.power_db[k]);
        bytes[1 + 2 * k] = static_cast<char>(code & 0xff);
        bytes[2 + 2 * k] = static_cast<char>((code >> 8) & 0xff);
        bytes[1 + 2 * bins + k] = static_cast<char>(share_code(spectrum.standout[k]));
    }
    return bytes;
}

KeptSpectrum decode_kept_spectrum(std::string_view bytes) {
    if (bytes.empty() || bytes[0] != kSpectrumVersion || bytes.size() % 3 != 1) {
        throw MachineError("a kept spectrum of " + std::to_string(bytes.size()) +
                           " bytes cannot be read: the database is damaged or was written by a "
                           "newer version; measure again");
    }
    const std::size_t bins = (bytes.size() - 1) / 3;
    const auto byte = [&](std::size_t at) { return static_cast<std::uint8_t>(bytes[at]); };
    KeptSpectrum kept;
    for (std::size_t k = 0; k < bins; ++k) {
        const auto code = static_cast<std::int16_t>(byte(1 + 2 * k) | byte(2 + 2 * k) << 8);
        kept.power_db.push_back(power_of(code));
        kept.standout.push_back(share_of(byte(1 + 2 * bins + k)));
    }
    return kept;
}

}  // namespace hearwood
