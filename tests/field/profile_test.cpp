#include "subcrop/field/profile.hpp"

#include <gtest/gtest.h>

namespace subcrop::field {
namespace {

struct Written {
    const char* text;
    int parent_material;
    const char* masters;  ///< empty where refused
    const char* suffixes;
    Zone zone;
    const char* message;
    const char* remedy;
};

constexpr auto example = "Write a master letter and small suffixes, such as Ap, Bt2, 2BC or Cr.";
constexpr auto counts = "The prefix counts parent materials from the top: 2Bt lies in the second.";

const Written written_forms[] = {
    {"A", 1, "A", "", Zone::topsoil, "", ""},
    {"Ap", 1, "A", "p", Zone::topsoil, "", ""},
    {"Ap1", 1, "A", "p", Zone::topsoil, "", ""},
    {"E", 1, "E", "", Zone::topsoil, "", ""},
    {"E'", 1, "E", "", Zone::topsoil, "", ""},
    {"AE", 1, "AE", "", Zone::topsoil, "", ""},
    {"A/E", 1, "AE", "", Zone::topsoil, "", ""},
    {"Oi", 1, "O", "i", Zone::none, "", ""},
    {"L", 1, "L", "", Zone::none, "", ""},
    {"AB", 1, "AB", "", Zone::subsoil, "", ""},
    {"BA", 1, "BA", "", Zone::subsoil, "", ""},
    {"EB", 1, "EB", "", Zone::subsoil, "", ""},
    {"E/B", 1, "EB", "", Zone::subsoil, "", ""},
    {"E/Bt", 1, "EB", "t", Zone::subsoil, "", ""},
    {"E and Bt", 1, "EB", "t", Zone::subsoil, "", ""},
    {"B & E", 1, "BE", "", Zone::subsoil, "", ""},
    {"Bw", 1, "B", "w", Zone::subsoil, "", ""},
    {"Bt2", 1, "B", "t", Zone::subsoil, "", ""},
    {"2Bt1", 2, "B", "t", Zone::subsoil, "", ""},
    {"2 Bt 1", 2, "B", "t", Zone::subsoil, "", ""},
    {"Bkk", 1, "B", "kk", Zone::subsoil, "", ""},
    {"B't1", 1, "B", "t", Zone::subsoil, "", ""},
    {"Bt\u20322", 1, "B", "t", Zone::subsoil, "", ""},
    {"Bt horizon", 1, "B", "t", Zone::subsoil, "", ""},
    {"(B)", 1, "B", "", Zone::subsoil, "", ""},
    {"BC", 1, "BC", "", Zone::parent_material, "", ""},
    {"2BCg", 2, "BC", "g", Zone::parent_material, "", ""},
    {"CB", 1, "CB", "", Zone::parent_material, "", ""},
    {"AC", 1, "AC", "", Zone::parent_material, "", ""},
    {"C", 1, "C", "", Zone::parent_material, "", ""},
    {"Cr", 1, "C", "r", Zone::parent_material, "", ""},
    {"3Crt", 3, "C", "rt", Zone::parent_material, "", ""},
    {"C/R", 1, "CR", "", Zone::parent_material, "", ""},
    {"R", 1, "R", "", Zone::rock, "", ""},
    {"2R", 2, "R", "", Zone::rock, "", ""},
    {"^Ap", 1, "A", "p", Zone::none, "material moved by people", ""},
    {"IIBt", 2, "B", "t", Zone::subsoil, "the prefix II is read as 2", ""},
    {"B21t", 1, "B", "t", Zone::subsoil, "figures before suffixes are an older style; B21t is read as Bt", ""},
    {"Bp", 1, "B", "p", Zone::subsoil, "the suffix p belongs after O or A", ""},
    {"Ar", 1, "A", "r", Zone::topsoil, "the suffix r belongs after C", ""},
    {"", 1, "", "", Zone::none, "no horizon designation is written", example},
    {"bt", 1, "", "", Zone::none, "'bt' is no horizon designation", "Was 'Bt' meant?"},
    {"ap1", 1, "", "", Zone::none, "'ap1' is no horizon designation", "Was 'Ap1' meant?"},
    {"2bc", 1, "", "", Zone::none, "'2bc' is no horizon designation", "Was '2Bc' meant?"},
    {"BT2", 1, "", "", Zone::none, "'BT2' is no horizon designation", "Was 'Bt2' meant?"},
    {"AP", 1, "", "", Zone::none, "'AP' is no horizon designation", "Was 'Ap' meant?"},
    {"CR", 1, "", "", Zone::none, "'CR' is no horizon designation", "Was 'Cr' meant?"},
    {"r", 1, "", "", Zone::none, "'r' is no horizon designation", "Was 'R' meant?"},
    {"Btl", 1, "", "", Zone::none, "'Btl' is no horizon designation", "Was 'Bt1' meant?"},
    {"X", 1, "", "", Zone::none, "'X' is no horizon designation", example},
    {"Q2", 1, "", "", Zone::none, "'Q2' is no horizon designation", example},
    {"topsoil", 1, "", "", Zone::none, "'topsoil' is no horizon designation", example},
    {"A1-A2", 1, "", "", Zone::none, "'A1-A2' is no horizon designation", example},
    {"AA", 1, "", "", Zone::none, "'AA' is no horizon designation", example},
    {"2", 1, "", "", Zone::none, "'2' is no horizon designation", example},
    {"0Bt", 1, "", "", Zone::none, "the numeric prefix of '0Bt' is not from 1 to 20", counts},
    {"0", 1, "O", "", Zone::none, "the figure 0 is read as the letter O", ""},
    {"0a", 1, "O", "a", Zone::none, "the figure 0 is read as the letter O", ""},
    {"02", 1, "O", "", Zone::none, "the figure 0 is read as the letter O", ""},
    {"45B", 1, "", "", Zone::none, "the numeric prefix of '45B' is not from 1 to 20", counts},
    {"99999999999B", 1, "", "", Zone::none, "the numeric prefix of '99999999999B' is not from 1 to 20", counts},
};

TEST(Designation, AsPeopleWriteIt) {
    for (const Written& written : written_forms) {
        SCOPED_TRACE(written.text);
        const auto parsed = parse_designation(written.text);
        EXPECT_EQ(parsed.message, written.message);
        EXPECT_EQ(parsed.remedy, written.remedy);
        ASSERT_EQ(static_cast<bool>(parsed), *written.masters != '\0');
        if (!parsed) continue;
        EXPECT_EQ(parsed.value->parent_material, written.parent_material);
        EXPECT_EQ(parsed.value->masters, written.masters);
        EXPECT_EQ(parsed.value->suffixes, written.suffixes);
        EXPECT_EQ(parsed.value->zone, written.zone);
    }
}

TEST(Designation, EveryPartIsKept) {
    const auto buried = parse_designation("^2Bt\u20322").value.value();
    EXPECT_TRUE(buried.moved_by_people);
    EXPECT_EQ(buried.parent_material, 2);
    EXPECT_EQ(buried.primes, 1);
    EXPECT_EQ(buried.number, "2");
    EXPECT_FALSE(buried.mixed);
    EXPECT_EQ(parse_designation("E''").value->primes, 2);
    EXPECT_TRUE(parse_designation("E/Bt").value->mixed);
    EXPECT_FALSE(parse_designation("EB").value->mixed);
    EXPECT_TRUE(parse_designation("2Cr").value->weathered_rock());
    EXPECT_TRUE(parse_designation("Crt").value->weathered_rock());
    EXPECT_FALSE(parse_designation("C").value->weathered_rock());
    EXPECT_FALSE(parse_designation("R").value->weathered_rock());
}

TEST(Designation, TypeProfiles) {
    // Sequences of official series descriptions, from memory: Cecil (residuum of gneiss), Miami (loess over till), a
    // Spodosol over sand, Lithic soils over rock.
    struct TypeProfile {
        const char* name;
        std::vector<const char*> designations;
        std::vector<Zone> zones;
        std::vector<int> materials;
    };
    constexpr Zone o = Zone::none, t = Zone::topsoil, s = Zone::subsoil, p = Zone::parent_material, r = Zone::rock;
    const TypeProfile profiles[] = {
        {"Cecil", {"Ap", "Bt1", "Bt2", "BC", "C"}, {t, s, s, p, p}, {1, 1, 1, 1, 1}},
        {"Miami", {"Ap", "BE", "Bt1", "2Bt2", "2BCt", "2Cd"}, {t, s, s, s, p, p}, {1, 1, 1, 2, 2, 2}},
        {"Spodosol", {"Oi", "Oa", "E", "Bhs", "Bs", "BC", "C"}, {o, o, t, s, s, p, p}, {1, 1, 1, 1, 1, 1, 1}},
        {"lithic", {"A", "Bw", "Cr", "R"}, {t, s, p, r}, {1, 1, 1, 1}},
        {"buried", {"A", "C", "2Ab", "2Btb", "3R"}, {t, p, t, s, r}, {1, 1, 2, 2, 3}},
    };
    for (const TypeProfile& profile : profiles) {
        for (std::size_t i = 0; i < profile.designations.size(); ++i) {
            SCOPED_TRACE(std::string(profile.name) + ' ' + profile.designations[i]);
            const auto parsed = parse_designation(profile.designations[i]);
            ASSERT_TRUE(static_cast<bool>(parsed));
            EXPECT_EQ(parsed.message, "");
            EXPECT_EQ(parsed.value->zone, profile.zones[i]);
            EXPECT_EQ(parsed.value->parent_material, profile.materials[i]);
        }
    }
}

TEST(Zone, OfADepthByItsMiddle) {
    EXPECT_EQ(zone_of_depth(0.0, 20.0), Zone::topsoil);
    EXPECT_EQ(zone_of_depth(0.0, 49.9), Zone::topsoil);
    EXPECT_EQ(zone_of_depth(20.0, 30.0), Zone::subsoil);
    EXPECT_EQ(zone_of_depth(25.0, 75.0), Zone::subsoil);
    EXPECT_EQ(zone_of_depth(70.0, 81.0), Zone::parent_material);
    EXPECT_EQ(zone_of_depth(10.0, std::nullopt), Zone::topsoil);
    EXPECT_EQ(zone_of_depth(std::nullopt, 100.0), Zone::parent_material);
    EXPECT_EQ(zone_of_depth(std::nullopt, std::nullopt), Zone::subsoil);
}

}  // namespace
}  // namespace subcrop::field
