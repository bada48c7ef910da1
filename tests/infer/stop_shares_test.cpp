#include "infer/answer/stop_shares.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace subcrop::infer {
namespace {

/// Rows of which a few entries are above 0, some rows none at all; more than one block of them.
std::vector<float> invented_table(std::size_t stops, std::size_t units) {
    std::vector<float> table(stops * units, 0.0f);
    for (std::size_t s = 0; s < stops; ++s) {
        if (s % 7 == 0) continue;
        table[s * units + s % units] = 0.75f;
        table[s * units + (s + 3) % units] = 0.25f;
    }
    return table;
}

TEST(StopShares, GivesBackTheTableItWasMadeOf) {
    const std::size_t stops = 5000, units = 20;
    const std::vector<float> table = invented_table(stops, units);
    for (const unsigned threads : {1u, 2u, 8u}) {
        const StopShares shares(table, units, threads);
        EXPECT_EQ(shares.stops(), stops);
        EXPECT_EQ(shares.table(), table);
        EXPECT_EQ(shares.at(4999, 4999 % units), 0.75f);
        EXPECT_EQ(shares.at(4999, (4999 + 1) % units), 0.0f);
    }
}

TEST(StopShares, ARowTakesThePlaceOfWhatStoodThere) {
    const StopShares shares(std::vector<float>{0, 0.5f, 0, 0, 0, 0, 1, 0, 0}, 3, 1);
    std::vector<double> row(3, 9);
    shares.row(0, std::span(row));
    EXPECT_EQ(row, (std::vector<double>{0, 0.5, 0}));
    shares.row(1, std::span(row));
    EXPECT_EQ(row, (std::vector<double>{0, 0, 0}));
}

}  // namespace
}  // namespace subcrop::infer
