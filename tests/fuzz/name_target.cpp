// Start times from names and metadata texts; the first byte says which, a line feed ends the
// pattern.
#include <cstdlib>
#include <string>

#include "audio/start_time.h"
#include "base/error.h"
#include "target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace hearwood;
    if (size == 0) return 0;
    const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
    const std::size_t cut = text.find('\n');
    const std::string first = text.substr(0, cut);
    const std::string second = cut == std::string::npos ? "" : text.substr(cut + 1);
    switch (data[0] % 4) {
        case 0: {
            const StartTimeReader reader;
            (void)reader.start_of(text, Metadata{});
            if (reader.prefix_of(text).size() > text.size()) std::abort();
            break;
        }
        case 1:
            try {
                const StartTimeReader reader(first);
                (void)reader.from_name(second);
                (void)reader.prefix_of(second);
            } catch (const InputError&) {
            }
            break;
        case 2:
            (void)start_from_guano(text);
            break;
        default: {
            BroadcastText bext;
            bext.origination_date = first;
            bext.origination_time = second;
            (void)start_from_bext(bext);
        }
    }
    return 0;
}
