// The texture of a jar test: three settled layers, and a guess of the clay in the hand beside them.
//
// Prints:
//     jar: sand 41 ± 14 %, silt 54 ± 16 %, clay 5 ± 5 %: silt loam
//     jar and hand: sand 42 ± 12 %, silt 46 ± 14 %, clay 12 ± 7 %: loam
#include <array>
#include <cstdio>

#include "subcrop/field/grain_size.hpp"
#include "subcrop/field/jar_test.hpp"
#include "subcrop/field/texture.hpp"

using namespace subcrop::field;

namespace {

void print(const char* what, const IlrDistribution& soil) {
    const GrainSize mean = from_ilr(soil.mean), error = standard_errors(soil);
    const double in_90_pct = 1.645;
    std::printf("%s: sand %.0f ± %.0f %%, silt %.0f ± %.0f %%, clay %.0f ± %.0f %%: %s\n", what, mean.sand,
                in_90_pct * error.sand, mean.silt, in_90_pct * error.silt, mean.clay, in_90_pct * error.clay,
                name(classify(mean)).data());
}

}  // namespace

int main() {
    const auto jar = jar_grain_size({.sand_mm = 40, .silt_mm = 35, .clay_mm = 15, .water_height_cm = 12});
    if (!jar) {
        std::fprintf(stderr, "%s. %s\n", jar.message.c_str(), jar.remedy.c_str());
        return 1;
    }
    print("jar", *jar.value);
    const std::array sources{*jar.value, estimated_grain_size({.clay = 18})};
    print("jar and hand", combine(sources));
}
