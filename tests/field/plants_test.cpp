#include "subcrop/field/plants.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace subcrop::field {
namespace {

using testing::ElementsAreArray;

struct Written {
    const char* notes;
    std::vector<std::string> taxa;
    bool none_seen;
};

TEST(Plants, NotesToTaxa) {
    const Written cases[] = {
        {"heather, some bog-myrtle; bracken (dominant)", {"bog myrtle", "bracken", "heather"}, false},
        {"a little heather, little mouse-ear, a lot of birch", {"birch", "heather", "little mouse ear"}, false},
        {"bog-myrtle, bog myrtle, Bog-Myrtle 5-10 %, Fr\u00eane-\u00e9lev\u00e9",
         {"bog myrtle", "fr\u00eane \u00e9lev\u00e9"},
         false},
        {"Heather,  Heather, HEATHER", {"heather"}, false},
        {"heather and bracken", {"bracken", "heather"}, false},
        {"heather + bracken & birch", {"birch", "bracken", "heather"}, false},
        {"heather/bracken", {"bracken", "heather"}, false},
        {"heather\nbracken", {"bracken", "heather"}, false},
        {"20 % heather; r birch", {"birch", "heather"}, false},
        {"heather 20%, bracken <5 %, birch 10-20 %", {"birch", "bracken", "heather"}, false},
        {"Vaccinium cf. myrtillus, Carex sp.", {"carex", "vaccinium myrtillus"}, false},
        {"dominant bracken, scattered birch, rare orchid", {"birch", "bracken", "orchid"}, false},
        {"common reed; heather, common", {"common reed", "heather"}, false},
        {"bracken: 2a, heather: 1, moss: +", {"bracken", "heather", "moss"}, false},
        {"no bracken, heather", {"heather"}, false},
        {"bracken?", {"bracken"}, false},
        {"heather.", {"heather"}, false},
        {"\u00c9rable, fr\u00eane", {"fr\u00eane", "\u00e9rable"}, false},
        {"heather (20 %, dying back", {"heather"}, false},
        {"none", {}, true},
        {"None seen.", {}, true},
        {"(none)", {}, true},
        {"no vegetation", {}, true},
        {"bare ground", {}, true},
        {"bare soil, moss", {"moss"}, false},
        {"", {}, false},
        {"  ", {}, false},
        {"n/a", {}, false},
        {"not recorded", {}, false},
        {"some; dominant, 20 %", {}, false},
    };
    for (const Written& written : cases) {
        const PlantReading reading = read_plants(written.notes);
        EXPECT_THAT(reading.taxa, ElementsAreArray(written.taxa)) << written.notes;
        EXPECT_EQ(reading.none_seen, written.none_seen) << written.notes;
    }
}

TEST(PlantNames, TheUsersListSettlesNames) {
    PlantNames names;
    EXPECT_EQ(names.add("Ling", "Calluna vulgaris"), "");
    EXPECT_EQ(names.add("heather", "Calluna vulgaris"), "");
    EXPECT_EQ(names.add("moorland", ""), "");  // no plant
    EXPECT_THAT(names.settle(read_plants("some LING; heather, moorland, bracken")).taxa,
                testing::ElementsAre("bracken", "calluna vulgaris"));
    EXPECT_EQ(names.add("ling", "calluna  Vulgaris"), "");  // the same again
    EXPECT_EQ(names.add("ling", "Erica cinerea"), "'ling' stands in the list already as 'calluna vulgaris'");
    EXPECT_EQ(names.add("ling, heather", "Calluna vulgaris"), "more than one plant is written");
    EXPECT_EQ(names.add("", "Calluna vulgaris"), "no plant is written");
    EXPECT_EQ(names.add("ling", "Calluna vulgaris, Erica cinerea"), "more than one taxon is written");
    EXPECT_TRUE(names.settle(read_plants("none seen")).none_seen);
}

}  // namespace
}  // namespace subcrop::field
