// Readers of written notes meet anything: torn, doubled and foreign text must give a reading or a reason, never a
// crash.
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <string>

#include "subcrop/field/munsell.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::field {
namespace {

const std::string seeds[] = {"10YR 5/6 moist",
                             "7,5YR 4,5/3-4/4 (d)",
                             "Gley 1 4/10Y",
                             "N 4/ to 5/",
                             "lOYR 5/l; 10YR 6/4 dry",
                             "GRV-SL",
                             "very gravelly fine sandy loam",
                             "SL/L",
                             "2Bt'1",
                             "E/Bt",
                             "IIB21t",
                             "^Ap",
                             "heather, bracken (dominant) + 20 % moss",
                             "foot slope below scree",
                             "\u00a0\u2013\u20445",
                             std::string("\xff\xfe\x00\xe4", 4)};

std::string mutated(std::mt19937& random) {
    constexpr std::string_view letters = "0123456789/-.,;'()+&^?% YRGBPNnlOoItmdABCERr\xc3\xa9\xa0\xff\t";
    const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
    std::string text = seeds[below(std::size(seeds))];
    for (std::size_t edits = below(6); edits-- > 0;) {
        const std::size_t at = below(text.size() + 1);
        switch (below(4)) {
            case 0:
                text.insert(at, 1, letters[below(letters.size())]);
                break;
            case 1:
                if (at < text.size()) text.erase(at, 1 + below(3));
                break;
            case 2:
                if (at < text.size()) text[at] = letters[below(letters.size())];
                break;
            default:
                text += seeds[below(std::size(seeds))].substr(0, below(6));
                break;
        }
    }
    return text;
}

template <class T>
void expect_reason(const Parsed<T>& parsed, const std::string& text) {
    if (parsed) return;
    EXPECT_FALSE(parsed.message.empty()) << text;
    EXPECT_FALSE(parsed.message.ends_with('.')) << parsed.message;
    EXPECT_TRUE(parsed.remedy.ends_with('.') || parsed.remedy.ends_with('?')) << parsed.remedy;
}

TEST(WrittenNotes, AnythingGivesAReadingOrAReason) {
    std::mt19937 random(20240611);
    std::size_t colours = 0;
    std::size_t refusals = 0;
    for (int i = 0; i < 40000; ++i) {
        const std::string text = mutated(random);
        const auto colour = parse_munsell(text);
        expect_reason(colour, text);
        colour ? ++colours : ++refusals;
        if (colour) {
            ASSERT_FALSE(colour.value->chips.empty()) << text;
            ASSERT_LE(colour.value->chips.size(), 2u) << text;
            for (const Munsell& chip : colour.value->chips) {
                ASSERT_TRUE(chip.hue >= 0.0 && chip.hue <= 100.0 && chip.value >= 0.0 && chip.value <= 10.0 &&
                            chip.chroma >= 0.0)
                    << text;
                const Lab lab = to_lab(chip);
                ASSERT_TRUE(std::isfinite(lab.lightness) && std::isfinite(lab.a) && std::isfinite(lab.b)) << text;
            }
            ASSERT_TRUE(parse_munsell(colour.value->notation)) << text << " gave " << colour.value->notation;
        }
        expect_reason(parse_texture(text), text);
        const auto designation = parse_designation(text);
        expect_reason(designation, text);
        if (designation) {
            ASSERT_FALSE(designation.value->masters.empty()) << text;
        }
        for (const std::string& taxon : read_plants(text).taxa) ASSERT_FALSE(taxon.empty()) << text;
        parent_material_shares(
            {.landform = text, .slope_deg = {}, .fragment_shape = text, .fragments_pct = {}, .notes = text});
        if (const auto redox = read_redox(text); !redox) expect_reason(redox, text);
    }
    // The mutations leave both kinds in plenty.
    EXPECT_GT(colours, 2000u);
    EXPECT_GT(refusals, 2000u);
}

TEST(WrittenNotes, LongTextIsRefusedInGoodTime) {
    const std::string long_text(20000, 'l');
    EXPECT_FALSE(parse_munsell(long_text));
    EXPECT_FALSE(parse_texture(long_text));
    EXPECT_FALSE(parse_designation("B" + long_text));
    EXPECT_EQ(read_plants(long_text).taxa.size(), 1u);
}

}  // namespace
}  // namespace subcrop::field
