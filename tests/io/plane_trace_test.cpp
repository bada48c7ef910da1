// Outcrop traces over ground for which they are known: the rule of V's, and the band of a known error.
#include "subcrop/io/plane_trace.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <functional>
#include <numbers>
#include <sstream>

#include "io/scratch_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {
namespace {

constexpr double degree = std::numbers::pi / 180;

/// Cells of 10 m whose centres are x -200 to 200, y -700 to 200.
geo::Terrain ground_of(const std::function<double(double, double)>& height) {
    geo::HeightGrid grid(-205, 205, 10, 41, 91);
    for (std::int64_t r = 0; r < grid.rows(); ++r) {
        for (std::int64_t c = 0; c < grid.columns(); ++c) {
            const Point p = grid.centre(c, r);
            grid.set(c, r, height(p.x, p.y));
        }
    }
    return geo::Terrain(std::move(grid));
}

/// A valley whose stream runs down to the south: +y is upstream.
double valley(double x, double y) { return 0.1 * y + 0.3 * std::abs(x); }

/// The y at which the trace passes x; not a number where it does not.
double y_at(const PlaneTrace& trace, double x) {
    for (const Line& line : trace.lines) {
        for (std::size_t i = 1; i < line.size(); ++i) {
            const Point a = line[i - 1], b = line[i];
            if ((a.x - x) * (b.x - x) > 0 || a.x == b.x) continue;
            return a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
        }
    }
    return std::nan("");
}

struct Bed {
    const char* what;
    double rise;     // of the bed to the north, or 1e9: vertical
    double at_side;  // y of the trace 100 m beside the stream: 0 at the stream
};

// The rule of V's as field handbooks have it; figures from 0.1 y + 0.3 |x| = rise y at |x| = 100.
const Bed beds[] = {
    {"dips downstream more steeply than the stream: V downstream", 0.5, 75},
    {"dips downstream less steeply than the stream: V upstream", 0.05, -600},
    {"level: V upstream, along a contour", 0.0, -300},
    {"dips upstream: V upstream", -0.5, -50},
    {"vertical: straight", 1e9, 0},
};

TEST(PlaneTrace, RuleOfVs) {
    const geo::Terrain ground = ground_of(valley);
    for (const Bed& bed : beds) {
        const bool vertical = bed.rise > 1e6;
        const geo::Attitude attitude{bed.rise < 0 ? 270.0 : 90.0,
                                     vertical ? 90 : std::atan(std::abs(bed.rise)) / degree};
        const PlaneTrace trace = trace_plane(*geo::plane_through(attitude, {0, 0, 0}).value, ground);
        EXPECT_NEAR(y_at(trace, 100), bed.at_side, 0.1) << bed.what;
        EXPECT_NEAR(y_at(trace, -100), bed.at_side, 0.1) << bed.what;
        EXPECT_TRUE(trace.band.empty()) << bed.what;
        if (bed.rise == 0) {  // a level bed keeps to one height
            for (const Line& line : trace.lines) {
                for (const Point& p : line) {
                    // Beyond the outermost centres heights are continued level.
                    if (std::abs(p.x) > 200 || p.y < -700) continue;
                    EXPECT_NEAR(valley(p.x, p.y), 0, 1e-3);
                }
            }
        }
    }
}

TEST(PlaneTrace, BandOfAKnownError) {
    // Level ground, a bed at 45 degrees whose height errs by 4 m: 1.645 x 4 m to either side.
    const geo::Terrain ground = ground_of([](double, double) { return 0.0; });
    const PlaneTrace trace = trace_plane(*geo::plane_through({0, 45}, {0, -250, 0, 0, 4}).value, ground);
    ASSERT_EQ(trace.lines.size(), 1u);
    EXPECT_NEAR(trace.length_m, 905, 10);
    EXPECT_NEAR(trace.band_area_m2, 2 * 1.645 * 4 * trace.length_m, 0.02 * trace.band_area_m2);
    for (const Polygon& part : trace.band)
        for (const Point& p : part.shell) EXPECT_LE(std::abs(p.x), 1.645 * 4 + 0.01);
    // The heights' own error comes on top: 3-4-5.
    const PlaneTrace wider = trace_plane(*geo::plane_through({0, 45}, {0, -250, 0, 0, 4}).value, ground, 3);
    EXPECT_NEAR(wider.band_area_m2 / trace.band_area_m2, 5.0 / 4, 0.02);
    EXPECT_NEAR(trace_plane(*geo::plane_through({0, 45}, {0, -250, 0}).value, ground, 0, 100).length_m, 200, 20);
}

TEST(PlaneTrace, Files) {
    const ScratchFolder folder;
    const geo::Terrain ground = ground_of(valley);
    const geo::Plane plane = *geo::plane_through({90, 20, 2, 2}, {0, 0, 0}).value;
    const PlaneTrace trace = trace_plane(plane, ground);
    const std::string crs = geo::Crs("EPSG:32631").wkt();
    write_plane_trace(folder.path() / "bed.gpkg", crs, trace, plane);
    EXPECT_GT(std::filesystem::file_size(folder.path() / "bed.gpkg"), 10'000u);
    write_plane_trace(folder.path() / "bed.geojson", crs, trace, plane);
    std::stringstream text;
    text << std::ifstream(folder.path() / "bed.geojson").rdbuf();
    EXPECT_THAT(text.str(), testing::AllOf(testing::HasSubstr("\"LineString\""), testing::HasSubstr("\"trace_band\"")));
    EXPECT_THROW(write_plane_trace(folder.path() / "bed.xyz", crs, trace, plane), Error);
}

}  // namespace
}  // namespace subcrop::io
