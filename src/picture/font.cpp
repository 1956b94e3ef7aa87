#include "picture/font.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <map>
#include <utility>
#include <vector>

namespace hearwood {

namespace {

struct Letter {
    int width = 0, rows = 0, left = 0, top = 0, advance = 0;
    std::string_view ink;  ///< two pixels a byte, the left one high

    int at(std::size_t i) const {
        const auto byte = static_cast<unsigned char>(ink[i / 2]);
        return i % 2 == 0 ? byte >> 4 : byte & 15;
    }
};
using Face = std::map<char32_t, Letter>;

/// The next face of the bytes, which it takes off them (letters.py says how they stand there).
Face take_face(std::string_view& bytes) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(bytes[i]); };
    const auto word = [&](std::size_t i) { return byte(i) | byte(i + 1) << 8; };
    Face face;
    int count = word(0);
    for (bytes.remove_prefix(2); count > 0; --count) {
        Letter letter{
            byte(2), byte(3), static_cast<signed char>(byte(4)), static_cast<signed char>(byte(5)),
            byte(6), {}};
        const auto code = static_cast<char32_t>(word(0));
        const auto pixels = static_cast<std::size_t>(letter.width * letter.rows);
        letter.ink = bytes.substr(7, (pixels + 1) / 2);
        bytes.remove_prefix(7 + letter.ink.size());
        face.emplace(code, letter);
    }
    return face;
}

const Face& face_of(int scale) {
    static const std::array<Face, 2> faces = [] {
        std::string_view bytes = kLetters;
        Face small = take_face(bytes);
        return std::array<Face, 2>{std::move(small), take_face(bytes)};
    }();
    return faces[scale < 2 ? 0 : 1];
}

/// One a code point; what is no UTF-8 or not in the face is a question mark.
std::vector<const Letter*> letters(std::string_view text, const Face& face) {
    std::vector<const Letter*> result;
    for (std::size_t i = 0; i < text.size();) {
        const auto first = static_cast<unsigned char>(text[i++]);
        const int more = first >= 0xf0 ? 3 : first >= 0xe0 ? 2 : first >= 0xc0 ? 1 : 0;
        char32_t code = more == 0 ? first : first & (0x3f >> more);
        for (int k = 0; k < more && i < text.size(); ++k)
            code = code << 6 | (static_cast<unsigned char>(text[i++]) & 0x3f);
        const auto found = face.find(code);
        result.push_back(found == face.end() ? &face.at('?') : &found->second);
    }
    return result;
}

/// Finds palette colours near blends of two others; each blend is looked for once.
class Blender {
  public:
    Blender(const Image& image, std::uint8_t ink) : image_(image), ink_(ink) {}

    std::uint8_t blend(std::uint8_t ground, int share) {
        if (share >= 15) return ink_;
        const auto [at, isNew] = known_.try_emplace({ground, share});
        if (isNew) at->second = nearest(ground, share);
        return at->second;
    }

  private:
    std::uint8_t nearest(std::uint8_t ground, int share) const {
        const Colour ink = image_.palette[ink_], under = image_.palette[ground];
        const auto mixed = [&](std::uint8_t of_ink, std::uint8_t of_ground) {
            return (share * of_ink + (15 - share) * of_ground + 7) / 15;
        };
        const int red = mixed(ink.red, under.red), green = mixed(ink.green, under.green),
                  blue = mixed(ink.blue, under.blue);
        const auto away = [&](const Colour& c) {
            return (c.red - red) * (c.red - red) + (c.green - green) * (c.green - green) +
                   (c.blue - blue) * (c.blue - blue);
        };
        const auto best =
            std::min_element(image_.palette.begin(), image_.palette.end(),
                             [&](const Colour& p, const Colour& q) { return away(p) < away(q); });
        return static_cast<std::uint8_t>(best - image_.palette.begin());
    }

    const Image& image_;
    std::uint8_t ink_;
    std::map<std::pair<std::uint8_t, int>, std::uint8_t> known_;
};

}  // namespace

int text_width(std::string_view text, int scale) {
    int width = 0;
    for (const Letter* letter : letters(text, face_of(scale))) width += letter->advance;
    return width;
}

void draw_text(Image& image, int x, int y, std::string_view text, std::uint8_t colour, int scale) {
    Blender blender(image, colour);
    const int baseline = y + 7 * scale + 1;
    for (const Letter* letter : letters(text, face_of(scale))) {
        for (int row = 0; row < letter->rows; ++row)
            for (int column = 0; column < letter->width; ++column) {
                const int px = x + letter->left + column, py = baseline - letter->top + row;
                const int share =
                    letter->at(static_cast<std::size_t>(row * letter->width + column));
                if (share == 0 || px < 0 || py < 0 || px >= image.width || py >= image.height)
                    continue;
                image.set(px, py, blender.blend(image.index_at(px, py), share));
            }
        x += letter->advance;
    }
}

}  // namespace hearwood
