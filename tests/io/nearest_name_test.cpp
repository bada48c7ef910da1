#include "io/nearest_name.hpp"

#include <gmock/gmock.h>

namespace subcrop::io {
namespace {

using testing::ElementsAre;

TEST(NearestName, CountsLettersChangedAddedDroppedOrSwapped) {
    EXPECT_EQ(edit_distance("columns", "colums"), 1U);
    EXPECT_EQ(edit_distance("stops", "stosp"), 1U);
    EXPECT_EQ(edit_distance("Kd", "kd"), 0U);
    EXPECT_EQ(edit_distance("kitten", "sitting"), 3U);  // the textbook example of Levenshtein's distance
    EXPECT_EQ(edit_distance("", "abc"), 3U);
}

TEST(NearestName, OffersOnlyWhatIsNear) {
    const std::vector<std::string> names = {"source", "layer", "columns", "x"};
    EXPECT_EQ(did_you_mean("colums", names), "Did you mean 'columns'? ");
    EXPECT_EQ(did_you_mean("col", names), "Did you mean 'columns'? ");
    EXPECT_EQ(did_you_mean("horizon", names), "");
    EXPECT_EQ(did_you_mean("y", names), "");
    EXPECT_THAT(by_nearness("lair", names), ElementsAre("layer", "x", "source", "columns"));
}

TEST(NearestName, ListsUpToALimit) {
    const std::vector<std::string> names = {"a", "b", "c"};
    EXPECT_EQ(listed(names), "a, b, c");
    EXPECT_EQ(listed(names, 2), "a, b and 1 more");
}

}  // namespace
}  // namespace subcrop::io
