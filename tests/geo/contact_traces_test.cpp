// Contacts that follow level beds over ground whose height is a formula.
#include "subcrop/geo/contact_traces.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "geo/invented_map.hpp"

namespace subcrop::geo {
namespace {

constexpr double contact_x = 1000;

/// Rises to the east by a tenth, with spurs and hollows 30 m high and low every 1,257 m to the north.
double ground_height(double x, double y) { return 100 + 0.1 * x + 6 * std::sin(y / 200); }

Terrain spurs() {
    HeightGrid grid(0, 4000, 10, 200, 400);
    for (std::int64_t r = 0; r < grid.rows(); ++r) {
        for (std::int64_t c = 0; c < grid.columns(); ++c)
            grid.set(c, r, ground_height(grid.centre(c, r).x, grid.centre(c, r).y));
    }
    return Terrain(std::move(grid));
}

UnitMap straight_draft() {
    ProblemLog problems;
    return UnitMap({box_polygon(0, 1, 0, 0, contact_x, 4000), box_polygon(1, 2, contact_x, 0, 2000, 4000)}, 2, {},
                   problems);
}

TEST(ContactTraces, AStraightDraftOverSpursIsToldWhereTheContourRuns) {
    const Terrain ground = spurs();
    const BedSurface level(std::vector<BedAttitude>{{{1000, 2000}, 0, 0, 0.5}}, {0, 1000});
    ContactTraceOptions options;
    options.contact_sd_m = 50;
    const ContactTraces traced = trace_contacts(straight_draft(), ground, level, options);
    ASSERT_EQ(traced.traces.size(), 1u);
    const ContactTrace& trace = traced.traces.front();
    ASSERT_GT(trace.places.size(), 20u);
    const double height = ground_height(trace.places[0].x, trace.places[0].y);
    for (std::size_t i = 0; i < trace.places.size(); ++i) {
        const Point p = trace.places[i];
        EXPECT_NEAR(ground_height(p.x, p.y), height, 0.3);  // a contour
        // The draft lies x = 1000 while the contour swings 60 m to either side of its mean.
        EXPECT_NEAR(p.x + trace.offsets_m[i] * trace.normals[i].x, contact_x, 3);
    }
    // A level common to all is free: adding it changes nothing.
    const std::size_t n = trace.places.size();
    for (std::size_t i = 0; i < n; i += 7) {
        double sum = 0, size = 0;
        for (std::size_t j = 0; j < n; ++j) {
            const double h = 1 / std::hypot(0.1, 0.03 * std::cos(trace.places[j].y / 200));
            sum += trace.precision[i * n + j] * h;
            size += std::abs(trace.precision[i * n + j]) * h;
        }
        EXPECT_LT(std::abs(sum), 0.05 * size);
    }
}

TEST(ContactTraces, AContactThatFollowsNoBedIsLeftOut) {
    // Beds that dip 45 degrees to the north would cross the draft, not run along it.
    const BedSurface steep(std::vector<BedAttitude>{{{1000, 2000}, 270, 45, 1}}, {0, 1000});
    ContactTraceOptions options;
    options.contact_sd_m = 20;
    const ContactTraces traced = trace_contacts(straight_draft(), spurs(), steep, options);
    EXPECT_TRUE(traced.traces.empty());
}

TEST(ContactTraces, DepositsFollowNoBed) {
    const BedSurface level(std::vector<BedAttitude>{{{1000, 2000}, 0, 0, 0.5}}, {0, 1000});
    ContactTraceOptions options;
    options.contact_sd_m = 50;
    options.cover = {0, 1};
    EXPECT_TRUE(trace_contacts(straight_draft(), spurs(), level, options).traces.empty());
}

}  // namespace
}  // namespace subcrop::geo
