// The listening CSV that comes back from a browser, or from anyone.
#include <cstdlib>

#include "base/error.h"
#include "listen/answers.h"
#include "target.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace hearwood;
    const std::filesystem::path path = fuzz::scratch() / "answers.csv";
    fuzz::put(path, data, size);
    std::vector<KeyLine> key(2);
    key[0].clip = "001";
    key[1].clip = "002";
    try {
        for (const Answer& answer : read_answers({path}, key))
            if (answer.fullness < 0 || answer.fullness >= kFullnessSteps) std::abort();
    } catch (const InputError& error) {
        if (error.problems().empty()) std::abort();
    }
    return 0;
}
