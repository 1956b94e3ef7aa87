#include "platform/process.h"

#include <unistd.h>

#ifndef HEARWOOD_STATIC
#include <dlfcn.h>
#endif

namespace hearwood {

long process_number() {
    return static_cast<long>(::getpid());
}

std::string host_name() {
    char name[65] = "";
    ::gethostname(name, sizeof name - 1);
    return name;
}

#ifdef HEARWOOD_STATIC  // one file that needs no library cannot load one
void* function_of_library(const char* /*library*/, const char* /*function*/) {
    return nullptr;
}
#else
void* function_of_library(const char* library, const char* function) {
    // Each call adds to the library's count of users, which is never given back: it stays.
    void* const loaded = ::dlopen(library, RTLD_NOW | RTLD_LOCAL);
    return loaded ? ::dlsym(loaded, function) : nullptr;
}
#endif

}  // namespace hearwood
