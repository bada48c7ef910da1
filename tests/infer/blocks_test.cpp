#include "subcrop/infer/blocks.hpp"

#include <gtest/gtest.h>

#include <map>
#include <random>
#include <set>

namespace subcrop::infer {
namespace {

std::vector<Point> scatter(std::size_t n, double width, double height) {
    std::mt19937 engine(11);
    std::uniform_real_distribution<double> x(0, width), y(0, height);
    std::vector<Point> points;
    for (std::size_t i = 0; i < n; ++i) points.push_back({x(engine), y(engine)});
    return points;
}

TEST(Blocks, NeighboursInOneBlockShareAFold) {
    const auto points = scatter(500, 5000, 4000);
    const Blocks blocks = divide_into_blocks(points, 500, 100);
    EXPECT_EQ(blocks.side_m, 500);
    EXPECT_LE(blocks.folds, 40);
    double min_x = 1e9, min_y = 1e9;
    for (const Point& p : points) {
        min_x = std::min(min_x, p.x);
        min_y = std::min(min_y, p.y);
    }
    std::map<std::pair<int, int>, std::set<int>> seen;
    for (std::size_t i = 0; i < points.size(); ++i) {
        seen[{static_cast<int>((points[i].x - min_x) / 500), static_cast<int>((points[i].y - min_y) / 500)}].insert(
            blocks.fold_of_stop[i]);
    }
    for (const auto& [cell, folds] : seen) EXPECT_EQ(folds.size(), 1u);
}

TEST(Blocks, FoldsHoldAboutEquallyMany) {
    const Blocks blocks = divide_into_blocks(scatter(40000, 5000, 5000), 0, 100);
    EXPECT_EQ(blocks.folds, 10);
    std::map<int, int> held;
    for (const auto fold : blocks.fold_of_stop) ++held[fold];
    for (const auto& [fold, count] : held) EXPECT_NEAR(count, 4000, 400);
}

TEST(Blocks, ASingleLineIsStillCut) {
    std::vector<Point> line;
    for (int i = 0; i < 100; ++i) line.push_back({i * 50.0, 0});
    const Blocks blocks = divide_into_blocks(line, 0, 20);
    EXPECT_GT(blocks.folds, 20);
}

TEST(Blocks, OneStopAndNone) {
    EXPECT_EQ(divide_into_blocks(std::vector<Point>{{1, 1}}, 0, 10).folds, 1);
    EXPECT_EQ(divide_into_blocks({}, 0, 10).fold_of_stop.size(), 0u);
}

}  // namespace
}  // namespace subcrop::infer
