#include "subcrop/field/kind_names.hpp"

#include <gtest/gtest.h>

namespace subcrop::field {
namespace {

TEST(KindNames, AbbreviationsSpellingsAndPluralsAreOneName) {
    const KindNames names;
    EXPECT_EQ(names.settle(NamedKind::rock, "sst"), "sandstone");
    EXPECT_EQ(names.settle(NamedKind::rock, "lst"), "limestone");
    EXPECT_EQ(names.settle(NamedKind::rock, "sandstones"), "sandstone");
    EXPECT_EQ(names.settle(NamedKind::rock, "gneiss"), "gneiss");
    EXPECT_EQ(names.settle(NamedKind::mineral, "qtz"), "quartz");
    EXPECT_EQ(names.settle(NamedKind::mineral, "hematite"), "haematite");
    EXPECT_EQ(names.settle(NamedKind::landform, "floodplain"), "flood plain");
    EXPECT_EQ(names.settle(NamedKind::plant, "ling"), "heather");
}

TEST(KindNames, AWordOfOneKindIsNoneOfAnother) {
    const KindNames names;
    EXPECT_EQ(names.settle(NamedKind::mineral, "sst"), "sst");
    EXPECT_EQ(names.settle(NamedKind::rock, "ling"), "ling");
    EXPECT_EQ(names.settle(NamedKind::mineral, "dol"), "dolomite");
    EXPECT_EQ(names.settle(NamedKind::rock, "dol"), "dol");  // dolomite, dolostone or dolerite
}

TEST(KindNames, HerOwnComeFirst) {
    KindNames names;
    EXPECT_EQ(names.add("Rock", " SST ", "Sulvey stone"), "");
    EXPECT_EQ(names.settle(NamedKind::rock, "sst"), "sulvey stone");
    EXPECT_EQ(names.add("rock", "sst", "sulvey stone"), "");
    EXPECT_EQ(names.add("rock", "sst", "sandstone"), "'sst' stands in the table already as 'sulvey stone'");
    EXPECT_EQ(names.add("rock", "", "sandstone"), "no word is written");
    EXPECT_EQ(names.add("rock", "x", " "), "no meaning is written");
    EXPECT_EQ(names.add("", "x", "y"), "no kind is written");
}

TEST(KindNames, HerWordsForTexturesReactionsAndMottles) {
    KindNames names;
    EXPECT_EQ(names.add("texture", "Lehmiger  Sand", "loamy sand"), "");
    EXPECT_EQ(names.add("reaction", "strong fizz", "ST"), "");
    EXPECT_EQ(names.add("reaction", "\u2013", "NE"), "");  // any dash is one dash
    EXPECT_EQ(names.add("mottles", "wenig", "few"), "");
    EXPECT_EQ(names.meant(NamedKind::texture, "lehmiger sand"), "loamy sand");
    EXPECT_EQ(names.meant(NamedKind::texture, "SIL"), "SIL");
    EXPECT_EQ(names.meant(NamedKind::reaction, " Strong  Fizz"), "st");
    EXPECT_EQ(names.meant(NamedKind::reaction, "-"), "ne");
    EXPECT_EQ(names.meant(NamedKind::mottles, "wenig"), "few");
    EXPECT_EQ(names.meant(NamedKind::texture, "strong fizz"), "strong fizz");
    EXPECT_EQ(names.add("reaction", "fizz", "loud"), "'loud' is no class of reaction to acid");
    EXPECT_EQ(names.add("texture", "slick", "soap"), "'soap' is no texture class");
}

}  // namespace
}  // namespace subcrop::field
