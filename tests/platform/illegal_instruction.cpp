// Ends as on a processor that lacks an instruction of the program.
#include <csignal>

#include "platform/machine.h"

int main() {
    return hearwood::missing_of_machine().empty() ? std::raise(SIGILL) : 1;
}
