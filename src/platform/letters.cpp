#include "platform/letters.h"

#ifdef __APPLE__
#include <xlocale.h>
#endif

#include <climits>
#include <clocale>
#include <cwchar>
#include <cwctype>

namespace hearwood {

std::string small_letters(const std::string& name) {
    static const locale_t unicode =
        ::newlocale(LC_CTYPE_MASK, "C.UTF-8", nullptr);  // made once, kept
    std::string small;
    const locale_t before = unicode ? ::uselocale(unicode) : nullptr;
    std::mbstate_t state{};
    for (std::size_t at = 0; at < name.size();) {
        wchar_t letter = 0;
        const std::size_t length =
            std::mbrtowc(&letter, name.data() + at, name.size() - at, &state);
        char bytes[MB_LEN_MAX];
        std::mbstate_t out{};
        const bool known = length > 0 && length <= name.size() - at;
        const std::size_t written =
            known
                ? std::wcrtomb(
                      bytes, static_cast<wchar_t>(std::towlower(static_cast<wint_t>(letter))), &out)
                : static_cast<std::size_t>(-1);
        if (written == static_cast<std::size_t>(-1)) {  // no letter: the byte itself
            small += name[at++];
            state = {};
            continue;
        }
        small.append(bytes, written);
        at += length;
    }
    if (before) ::uselocale(before);
    return small;
}

}  // namespace hearwood
