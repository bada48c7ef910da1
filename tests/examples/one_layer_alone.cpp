// One folder's library alone: `field` reads notes, and needs neither GDAL nor PROJ. Links subcrop::field and nothing
// else.
//
// Prints:
//     very gravelly silt loam, 7.5YR 4/4, strong reaction
//     clay 0 to 27 %
#include <cstdio>

#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/fragments.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/texture.hpp"

using namespace subcrop::field;

int main() {
    const auto texture = parse_texture("SiL");
    const auto colour = parse_munsell("7.5yr4/4");
    const auto reaction = read_effervescence("strongly effervescent");
    if (!texture || !colour || !reaction) return 1;

    const TextureClass named = texture.value->texture_class;
    std::printf("%s, %s, %s\n", texture_name(named, 40, FragmentKind::gravel).c_str(), colour.value->notation.c_str(),
                *reaction.value == "ST" ? "strong reaction" : "another reaction");
    const GrainSizeRange range = class_range(named);
    std::printf("clay %.0f to %.0f %%\n", range.least.clay, range.greatest.clay);
}
