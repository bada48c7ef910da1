#include <gtest/gtest.h>

#include "subcrop/field/texture.hpp"

namespace subcrop::field {
namespace {

struct Written {
    const char* text;
    const char* code;  ///< empty where refused
    const char* modifier;
    const char* message;
    const char* remedy;
};

constexpr auto all_codes = "Write one of S, LS, SL, L, SIL, SI, SCL, CL, SICL, SC, SIC, C.";

const Written written_forms[] = {
    {"S", "S", "", "", ""},
    {"ls", "LS", "", "", ""},
    {"SiL", "SIL", "", "", ""},
    {"SIL", "SIL", "", "", ""},
    {"SiCL", "SICL", "", "", ""},
    {"sicl.", "SICL", "", "", ""},
    {"Silt Loam", "SIL", "", "", ""},
    {"  silt\u00a0loam ", "SIL", "", "", ""},
    {"silty clay loam", "SICL", "", "", ""},
    {"sandy-clay loam", "SCL", "", "", ""},
    {"SANDYLOAM", "SL", "", "", ""},
    {"COSL", "SL", "", "", ""},
    {"FSL", "SL", "", "", ""},
    {"VFSL", "SL", "", "", ""},
    {"LFS", "LS", "", "", ""},
    {"LVFS", "LS", "", "", ""},
    {"COS", "S", "", "", ""},
    {"fine sandy loam", "SL", "", "", ""},
    {"very fine sandy loam", "SL", "", "", ""},
    {"loamy coarse sand", "LS", "", "", ""},
    {"GR-L", "L", "gravelly", "", ""},
    {"GRV-SL", "SL", "very gravelly", "", ""},
    {"GRVSL", "SL", "very gravelly", "", ""},
    {"VGR SL", "SL", "very gravelly", "", ""},
    {"GRX-CL", "CL", "extremely gravelly", "", ""},
    {"CBV-L", "L", "very cobbly", "", ""},
    {"CN-SIL", "SIL", "channery", "", ""},
    {"STX-FSL", "SL", "extremely stony", "", ""},
    {"GRF-SL", "SL", "fine gravelly", "", ""},
    {"gravelly loam", "L", "gravelly", "", ""},
    {"very cobbly sandy loam", "SL", "very cobbly", "", ""},
    {"very gravelly fine sandy loam", "SL", "very gravelly", "", ""},
    {"very gravelly very fine sandy loam", "SL", "very gravelly", "", ""},
    {"extremely channery silt loam", "SIL", "extremely channery", "", ""},
    {"heavy clay", "C", "", "", ""},
    {"silty loam", "SIL", "", "read as silt loam", ""},
    {"clayey loam", "CL", "", "read as clay loam", ""},
    {"silt clay loam", "SICL", "", "read as silty clay loam", ""},
    {"SL-L", "SL", "", "two texture classes are written; the first, sandy loam, is read", ""},
    {"L/CL", "L", "", "two texture classes are written; the first, loam, is read", ""},
    {"sandy loam to loam", "SL", "", "two texture classes are written; the first, sandy loam, is read", ""},
    {"", "", "", "no texture is written", all_codes},
    {" - ", "", "", "'-' is no texture class", all_codes},
    {"?", "", "", "'?' is no texture class", all_codes},
    {"peat", "", "", "'peat' is no texture class", all_codes},
    {"gravel", "", "", "'gravel' is no texture class", all_codes},
    {"XL", "", "", "'XL' is no texture class", all_codes},
    {"sandy silt loam", "", "", "'sandy silt loam' is no texture class", all_codes},
    {"loma", "", "", "'loma' is no texture class", "Was 'loam' meant?"},
    {"sandy clay laom", "", "", "'sandy clay laom' is no texture class", "Was 'sandy clay loam' meant?"},
    {"gravelly", "", "", "'gravelly' names coarse fragments but no texture of the fine earth",
     "Add the class, such as GRV-SL; write one of S, LS, SL, L, SIL, SI, SCL, CL, SICL, SC, SIC, C."},
    {"sticky clay", "", "", "'sticky clay' is no texture class", all_codes},
};

TEST(TextureNotation, AsPeopleWriteIt) {
    for (const Written& written : written_forms) {
        SCOPED_TRACE(written.text);
        const auto parsed = parse_texture(written.text);
        EXPECT_EQ(parsed.message, written.message);
        EXPECT_EQ(parsed.remedy, written.remedy);
        ASSERT_EQ(static_cast<bool>(parsed), *written.code != '\0');
        if (!parsed) continue;
        EXPECT_EQ(code(parsed.value->texture_class), written.code);
        EXPECT_EQ(parsed.value->modifier, written.modifier);
    }
}

TEST(TextureNotation, CodesAndNamesAreReadBack) {
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        const auto texture_class = static_cast<TextureClass>(i);
        for (const std::string_view text : {code(texture_class), name(texture_class)}) {
            const auto parsed = parse_texture(text);
            ASSERT_TRUE(parsed) << text;
            EXPECT_EQ(parsed.value->texture_class, texture_class) << text;
            EXPECT_TRUE(parsed.message.empty());
        }
    }
}

}  // namespace
}  // namespace subcrop::field
