// A Munsell notation as it was written, the colour it stands for, and how far it is from another chip.
//
// Prints for "10 yr 5/6 moist":
//     10YR 5/6: L* 51.0, a* 8.8, b* 38.5
//     7.5YR 4/4 differs by 12.2 (CIEDE2000)
#include <cstdio>

#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/munsell.hpp"

using namespace subcrop::field;

int main(int argc, char** argv) {
    if (argc < 2) return 2;
    const auto reading = parse_munsell(argv[1]);
    if (!reading) {
        std::fprintf(stderr, "%s. %s\n", reading.message.c_str(), reading.remedy.c_str());
        return 1;
    }
    const Lab lab = to_lab(reading.value->chips.front());
    std::printf("%s: L* %.1f, a* %.1f, b* %.1f\n", reading.value->notation.c_str(), lab.lightness, lab.a, lab.b);

    const Lab other = to_lab(parse_munsell("7.5YR 4/4").value->chips.front());
    std::printf("7.5YR 4/4 differs by %.1f (CIEDE2000)\n", colour_difference(lab, other));
}
