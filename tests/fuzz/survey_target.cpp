// survey.toml, with small sheets beside it: loads, or throws InputError with problems of one line
// each.
#include <cstdlib>
#include <string_view>

#include "base/error.h"
#include "survey/survey.h"
#include "target.h"

namespace {

void put_text(const char* name, std::string_view text) {
    fuzz::put(fuzz::scratch() / name, reinterpret_cast<const std::uint8_t*>(text.data()),
              text.size());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const bool sheets = [] {
        put_text("sites.csv",
                 "site,latitude,longitude,stand,river\na,1,113,rich,x\nb,1.1,113,rich,x\n"
                 "c,1,113.1,poor,x\nd,1.1,113.1,poor,x\n");
        put_text("deployments.csv",
                 "deployment,site,folder\nd1,a,r/1\nd2,b,r/2\nd3,c,r/3\nd4,d,r/4\n");
        return true;
    }();
    (void)sheets;
    fuzz::put(fuzz::scratch() / "survey.toml", data, size);
    try {
        (void)hearwood::load_survey(fuzz::scratch());
    } catch (const hearwood::InputError& error) {
        if (error.problems().empty()) std::abort();
        for (const hearwood::Problem& problem : error.problems())
            if (hearwood::one_line(problem).find('\n') != std::string::npos) std::abort();
    }
    return 0;
}
