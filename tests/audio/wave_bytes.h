// WAV files put together byte by byte, so that every field can be wrong on purpose.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <vector>

#include "temporary_folder.h"

namespace hearwood::test {

using testing::TemporaryFolder;

inline std::string little(std::uint64_t value, int bytes) {
    std::string text;
    for (int i = 0; i < bytes; ++i) text += static_cast<char>(value >> (8 * i) & 0xFF);
    return text;
}

inline std::string chunk(std::string_view id, const std::string& body) {
    std::string text = std::string(id) + little(body.size(), 4) + body;
    if (body.size() % 2 == 1) text += '\0';
    return text;
}

struct Format {
    int tag = 1, channels = 1;
    std::uint32_t rate = 48'000;
    int bits = 16;
    int frame_bytes() const { return channels * ((bits + 7) / 8); }
};

inline std::string format_body(const Format& f) {
    return little(f.tag, 2) + little(f.channels, 2) + little(f.rate, 4) +
           little(static_cast<std::uint64_t>(f.rate) * f.frame_bytes(), 4) +
           little(f.frame_bytes(), 2) + little(f.bits, 2);
}

/// fmt of WAVE_FORMAT_EXTENSIBLE; the GUID is that of the tag (…-0000-0010-8000-00aa00389b71).
inline std::string extensible_body(const Format& f, int valid_bits) {
    Format outer = f;
    outer.tag = 0xFFFE;
    return format_body(outer) + little(22, 2) + little(valid_bits, 2) + little(0, 4) +
           little(f.tag, 2) +
           std::string("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71", 14);
}

inline std::string riff(const std::string& chunks) {
    return "RIFF" + little(4 + chunks.size(), 4) + "WAVE" + chunks;
}

inline std::string wave(const Format& format, const std::string& samples) {
    return riff(chunk("fmt ", format_body(format)) + chunk("data", samples));
}

/// 16-bit samples 1, 2, 3 ...
inline std::string counting(int samples) {
    std::string bytes;
    for (int i = 1; i <= samples; ++i) bytes += little(static_cast<std::uint64_t>(i), 2);
    return bytes;
}

}  // namespace hearwood::test
