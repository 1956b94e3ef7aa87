#include "words/family.h"

#include <fmt/format.h>

#include "base/base64.h"

namespace hearwood {
namespace {

std::string face(std::string_view bytes, const char* style, int weight) {
    return fmt::format(
        "@font-face{{font-family:\"Hearwood Text\";font-style:{};font-weight:{};"
        "src:url(data:font/woff2;base64,{}) format(\"woff2\")}}\n",
        style, weight, base64(bytes));
}

}  // namespace

const std::string& type_faces() {
    static const std::string faces = face(kTypeRegular, "normal", 400) +
                                     face(kTypeItalic, "italic", 400) +
                                     face(kTypeBold, "normal", 700);
    return faces;
}

const std::string& family_style() {
    static const std::string style =
        type_faces() + std::string(kPaperStyle) + std::string(kFamilyStyle);
    return style;
}

}  // namespace hearwood
