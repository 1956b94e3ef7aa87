// Prints what the program makes of places and dates read from stdin ("2031-05-04 1.5 110.3
// Asia/Kuching", one a line): sunrise and sunset in milliseconds from 1970, or the state of a sun
// that stays up or down. For sun_test.py.
#include <iostream>
#include <string>

#include "survey/sun.h"

int main() {
    using namespace hearwood;
    std::string date, zone;
    double latitude = 0, longitude = 0;
    while (std::cin >> date >> latitude >> longitude >> zone) {
        const SunTimes times =
            sun_times(parse_date(date).value(), latitude, longitude, Zone::named(zone));
        if (times.state == SunTimes::State::rises_and_sets)
            std::cout << times.sunrise->time_since_epoch().count() << ' '
                      << times.sunset->time_since_epoch().count() << '\n';
        else
            std::cout << (times.state == SunTimes::State::always_up ? "up" : "down") << '\n';
    }
}
