// The examples at the head of core's public headers, word for word: they compile, and they do what they say.
#include <gtest/gtest.h>

#include <string>

#include "subcrop/core/planar.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/text.hpp"
#include "subcrop/core/together.hpp"

namespace subcrop {
namespace {

TEST(HeaderExample, Planar) {
    const Line track{{0, 0}, {100, 0}};
    const Ring ring{{0, 0}, {50, 0}, {50, 50}, {0, 50}, {0, 0}};
    const Polygon no_go{ring, {}};
    const Point place{20, 30};
    Box box;
    box.add(Point{50, 50});

    double off_m = nearest_on(track, place).off_m;  // metres from the track
    bool kept_out = inside(no_go, place);
    bool touches = meet(box_of(ring), box);

    EXPECT_EQ(off_m, 30);
    EXPECT_TRUE(kept_out);
    EXPECT_TRUE(touches);
}

TEST(HeaderExample, Problem) {
    ProblemLog log;

    log.add({.severity = Severity::warning,
             .source = "stops.csv",
             .row = 12,
             .field = "colour_moist",
             .value = "10XR 5/6",
             .message = "no Munsell hue is written '10XR'",
             .remedy = "Write the hue as a number and letters, such as 10YR.",
             .position = {}});

    ASSERT_EQ(log.size(), 1U);
    EXPECT_EQ(log.sorted()[0].row, 12);
}

TEST(HeaderExample, Text) {
    TextPool pool;
    Text a = pool.intern("10YR 5/6"), b = pool.intern("10YR 5/6");  // a == b, one string stored
    const std::string& written = a.str();                           // "10YR 5/6"

    EXPECT_TRUE(a == b);
    EXPECT_EQ(pool.size(), 1U);
    EXPECT_EQ(written, "10YR 5/6");
}

TEST(HeaderExample, Together) {
    Together areas(4);
    areas.join(3, 1);
    std::size_t name = areas.name(3);  // 1

    EXPECT_EQ(name, 1U);
}

}  // namespace
}  // namespace subcrop
