// Coordinate operations against published worked examples and against PROJ's own cs2cs.
#include <gmock/gmock.h>

#include <cmath>
#include <cstdio>
#include <fstream>
#include <limits>
#include <random>
#include <sstream>
#include <thread>

#include "subcrop/core/error.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::geo {
namespace {

using testing::Contains;
using testing::HasSubstr;

const std::string reference = std::string(SUBCROP_SOURCE_DIR) + "/tests/reference/coordinates/";

std::vector<std::vector<std::string>> table(const std::string& name) {
    std::ifstream file(reference + name);
    EXPECT_TRUE(file) << name;
    std::vector<std::vector<std::string>> rows;
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
        std::vector<std::string> cells(1);
        bool quoted = false;
        for (const char c : line) {
            if (c == '"')
                quoted = !quoted;
            else if (c == ',' && !quoted)
                cells.emplace_back();
            else
                cells.back() += c;
        }
        rows.push_back(cells);
    }
    return rows;
}

std::vector<Point> moved(const std::string& from, const std::string& to, std::vector<Point> points) {
    const Transformation t(Crs(from), Crs(to), points, {});
    for (const auto flag : t.apply(points)) EXPECT_EQ(flag, 1);
    return points;
}

std::string refusal(const std::string& from, const std::string& to, std::vector<Point> sample) {
    try {
        const Transformation t(Crs(from), Crs(to), sample, {.allow_ballpark = false, .source = "stops.csv"});
        return "not refused: " + t.report().name;
    } catch (const Error& error) {
        return error.what();
    }
}

// Worked examples of IOGP Guidance Note 7-2, Snyder (1987) USGS Professional Paper 1395 and the PROJ documentation; the
// file says which figures were seen in print and which are from memory, and what PROJ 9.1.1 gives.
TEST(Transformation, PublishedExamples) {
    int checked = 0;
    for (const auto& row : table("projection_examples.csv")) {
        if (row[2].find("+proj=cart") != std::string::npos || row[2].find("+proj=helmert") != std::string::npos)
            continue;
        double longitude = 0, latitude = 0, east = 0, north = 0, proj_east = 0, proj_north = 0;
        std::istringstream(row[1]) >> longitude >> latitude;
        std::istringstream(row[3]) >> east >> north;
        std::istringstream(row[4]) >> proj_east >> proj_north;
        // The same ellipsoid in degrees.
        std::string degrees = "+proj=longlat";
        std::istringstream words(row[2]);
        for (std::string word; words >> word;) {
            if (word.rfind("+ellps=", 0) == 0 || word.rfind("+a=", 0) == 0 || word.rfind("+rf=", 0) == 0)
                degrees += " " + word;
        }
        const Point found = moved(degrees, row[2], {{longitude, latitude}})[0];
        const double slack = std::stod(row[5]) + 1e-4;
        EXPECT_NEAR(found.x, east, slack) << row[0];
        EXPECT_NEAR(found.y, north, slack) << row[0];
        EXPECT_NEAR(found.x, proj_east, 1e-4) << row[0];
        EXPECT_NEAR(found.y, proj_north, 1e-4) << row[0];
        ++checked;
    }
    EXPECT_EQ(checked, 12);
}

// What PROJ 9.1.1 with Debian 12's proj-data gives; the operation is the best one for the place. Coordinates in the
// file stand in the order of the authority: turned here to x, y.
TEST(Transformation, OperationsOfStockDebian) {
    const auto northing_first = [](const std::string& code) {
        return code == "EPSG:4267" || code == "EPSG:4326" || code == "EPSG:4269" || code == "EPSG:4314" ||
               code == "EPSG:4258" || code == "EPSG:31467";
    };
    int checked = 0;
    for (const auto& row : table("operations_stock_debian.csv")) {
        Point in{std::stod(row[2]), std::stod(row[3])}, out{std::stod(row[5]), std::stod(row[6])};
        if (northing_first(row[0])) std::swap(in.x, in.y);
        if (northing_first(row[1])) std::swap(out.x, out.y);
        const Point found = moved(row[0], row[1], {in})[0];
        const bool degrees = Crs(row[1]).geographic();
        EXPECT_NEAR(found.x, out.x, degrees ? 1.1e-9 : 1e-6) << row[0] << " to " << row[1];
        EXPECT_NEAR(found.y, out.y, degrees ? 1.1e-9 : 1e-6) << row[0] << " to " << row[1];
        ++checked;
    }
    EXPECT_EQ(checked, 13);
}

struct AccuracyCase {
    const char *from, *to;
    Point place;
    double accuracy_m;
};

// Accuracies published in the EPSG dataset v10.076 that PROJ 9.1.1 carries, with the grids of stock Debian 12.
TEST(Transformation, ReportsThePublishedAccuracy) {
    const AccuracyCase cases[] = {
        {"EPSG:4267", "EPSG:4326", {-105, 40}, 7},          {"EPSG:4267", "EPSG:4326", {-75, 41}, 10},
        {"EPSG:4269", "EPSG:4326", {-105, 40}, 4},          {"EPSG:31467", "EPSG:25832", {3500000, 5400000}, 0.9},
        {"EPSG:21781", "EPSG:4326", {600000, 200000}, 1.5}, {"EPSG:4326", "EPSG:32633", {13, 52}, 0},
    };
    for (const AccuracyCase& c : cases) {
        const std::vector<Point> sample{c.place};
        const Transformation t(Crs(c.from), Crs(c.to), sample, {});
        ASSERT_TRUE(t.report().accuracy_m) << c.from;
        EXPECT_NEAR(*t.report().accuracy_m, c.accuracy_m, 1e-9) << c.from << ": " << t.report().name;
        EXPECT_FALSE(t.report().ballpark);
        EXPECT_FALSE(t.report().name.empty());
        EXPECT_FALSE(t.identity());
    }
    const std::vector<Point> colorado{{-105, 40}};
    const Transformation t(Crs("EPSG:4267"), Crs("EPSG:4326"), colorado, {});
    EXPECT_THAT(t.report().missing_grids, Contains(HasSubstr("conus")));
    EXPECT_EQ(t.report().name, "NAD27 to WGS 84 (6)");
}

TEST(Transformation, RefusesADatumOutsideItsArea) {
    const std::vector<Point> germany{{9, 48}, {10, 49}, {9.5, 48.2}};
    const std::string message = refusal("EPSG:4267", "EPSG:32632", germany);
    EXPECT_THAT(message, HasSubstr("stops.csv"));
    EXPECT_THAT(message, HasSubstr("NAD27"));
    EXPECT_THAT(message, HasSubstr("WGS 84 / UTM zone 32N"));
    EXPECT_THAT(message, HasSubstr("longitude 9 to 10, latitude 48 to 49"));
    EXPECT_THAT(message, HasSubstr("settings.allow_ballpark"));
    EXPECT_THAT(refusal("EPSG:4267", "EPSG:4326", germany), HasSubstr("settings.allow_ballpark"));
    // Europe as a whole: PROJ by itself takes a Canadian shift here.
    EXPECT_THAT(refusal("EPSG:4267", "EPSG:4326", {{-9, 37}, {30, 70}, {10, 50}, {20, 45}}),
                HasSubstr("no operation with a known accuracy"));

    const Transformation allowed(Crs("EPSG:4267"), Crs("EPSG:32632"), germany, {.allow_ballpark = true});
    EXPECT_TRUE(allowed.report().ballpark);
    EXPECT_FALSE(allowed.report().accuracy_m);
    auto points = germany;
    EXPECT_THAT(allowed.apply(points), testing::Each(1));
    EXPECT_NEAR(points[0].x, 500000, 200);
}

TEST(Transformation, NamesTheGridThatIsMissing) {
    // The published shifts between these two are grids, none of which stock Debian has: it goes by way of WGS 84.
    const std::vector<Point> colorado{{-105, 40}, {-104.9, 40.1}};
    const Transformation t(Crs("EPSG:4267"), Crs("EPSG:4269"), colorado, {});
    ASSERT_TRUE(t.report().accuracy_m);
    EXPECT_GT(*t.report().accuracy_m, 1);
    EXPECT_THAT(t.report().missing_grids, Contains(HasSubstr("conus")));
}

TEST(Transformation, TakesSeveralOperationsWhereOneDoesNotServe) {
    // No published shift that can be carried out here covers both Colorado and Cuba.
    std::vector<Point> points;
    for (int i = 0; i < 40; ++i) points.push_back({-105 + 0.01 * i, 40});
    for (int i = 0; i < 40; ++i) points.push_back({-75 + 0.01 * i, 20.4});  // Cuba
    const Transformation t(Crs("EPSG:4267"), Crs("EPSG:4326"), points, {});
    EXPECT_THAT(t.report().name, HasSubstr("; "));
    EXPECT_GE(*t.report().accuracy_m, 7);
    auto together = points;
    EXPECT_THAT(t.apply(together), testing::Each(1));
    const auto west = moved("EPSG:4267", "EPSG:4326", {points.begin(), points.begin() + 40});
    const auto south = moved("EPSG:4267", "EPSG:4326", {points.begin() + 40, points.end()});
    EXPECT_NEAR(together[3].x, west[3].x, 1e-12);
    EXPECT_NEAR(together[50].y, south[10].y, 1e-12);
}

TEST(Transformation, LeavesBadPointsAsTheyWere) {
    const double infinity = std::numeric_limits<double>::infinity(), nan = std::nan("");
    const std::vector<Point> sample{{13, 52}, {14, 51}, {12.5, 52.4}};
    const Transformation t(Crs("EPSG:4326"), Crs("EPSG:32633"), sample, {});
    // 45 degrees off the zone is outside its widened area; 200 would give garbage without an error.
    std::vector<Point> points{{13, 52}, {200, 52}, {nan, 52}, {13, infinity}, {13, 95}, {-120, 40}, {61, 10}, {14, 51}};
    const auto before = points;
    EXPECT_THAT(t.apply(points), testing::ElementsAre(1, 0, 0, 0, 0, 0, 0, 1));
    for (const int i : {1, 4, 5, 6}) EXPECT_EQ(points[i], before[i]);
    EXPECT_NEAR(points[7].x, 429831.1385, 1e-4);  // cs2cs 9.1.1

    // Metres of another system, and a longitude that lost its sign.
    const std::vector<Point> metres{{500000, 5400000}};
    const Transformation u(Crs("EPSG:32633"), Crs("EPSG:4326"), metres, {});
    std::vector<Point> far{{500000, 5400000}, {5e9, 5400000}, {500000, -4e7}};
    EXPECT_THAT(u.apply(far), testing::ElementsAre(1, 0, 0));
    const std::vector<Point> colorado{{-105, 40}, {-105.1, 40}, {105, 40}};
    const Transformation v(Crs("EPSG:4267"), Crs("EPSG:4326"), colorado, {});
    auto signs = colorado;
    EXPECT_THAT(v.apply(signs), testing::ElementsAre(1, 1, 0));
    EXPECT_EQ(signs[2], colorado[2]);
    // A system without an area of use: there and back again.
    const std::vector<Point> one{{15, 50}};
    const Transformation w(Crs("EPSG:4326"), Crs("+proj=tmerc +lon_0=15 +datum=WGS84"), one, {});
    std::vector<Point> odd{{15, 50}, {16, 51}, {15, 91}};
    EXPECT_THAT(w.apply(odd), testing::ElementsAre(1, 1, 0));
}

TEST(Transformation, SaysWhenEveryPointIsOutOfPlace) {
    const std::string message = refusal("EPSG:4326", "EPSG:32633", {{5400000, 500000}, {5400001, 500001}});
    EXPECT_THAT(message, HasSubstr("no point lies where both WGS 84 and WGS 84 / UTM zone 33N hold"));
    EXPECT_THAT(message, HasSubstr("not swapped"));
}

TEST(Transformation, TheSameSystemMovesNothing) {
    std::vector<Point> points{{13.123456789012345, 52}, {std::nan(""), 1}};
    const Transformation t(Crs("EPSG:4326"), Crs("OGC:CRS84"), points, {});
    EXPECT_TRUE(t.identity());
    EXPECT_EQ(t.report().accuracy_m, 0);
    EXPECT_THAT(t.apply(points), testing::ElementsAre(1, 0));
    EXPECT_EQ(points[0].x, 13.123456789012345);
}

TEST(Transformation, AnEmptySampleIsNoError) {
    const Transformation t(Crs("EPSG:4326"), Crs("EPSG:32633"), {}, {});
    std::vector<Point> points;
    EXPECT_TRUE(t.apply(points).empty());
}

TEST(Transformation, AcrossTheDateLine) {
    const std::vector<Point> fiji{{179.5, -17}, {-179.5, -17.5}};
    const auto found = moved("EPSG:4326", "EPSG:32701", fiji);  // zone 1 begins at the 180th meridian
    EXPECT_NEAR(found[0].x, 127255.1564, 1e-4);                 // cs2cs 9.1.1
    EXPECT_NEAR(found[1].x, 234538.1432, 1e-4);
}

TEST(Transformation, ACloneAnswersAlikeOnAnotherThread) {
    std::vector<Point> sample;
    std::mt19937_64 random(3);
    std::uniform_real_distribution<double> x(8, 10), y(48, 50);
    for (int i = 0; i < 5000; ++i) sample.push_back({x(random), y(random)});
    const Transformation t(Crs("EPSG:4314"), Crs("EPSG:25832"), sample, {});
    auto one = sample, two = sample, three = sample;
    t.apply(one);
    std::thread a([&, copy = t.clone()] { copy.apply(two); });
    std::thread b([&, copy = t.clone()] { copy.apply(three); });
    a.join();
    b.join();
    EXPECT_EQ(one, two);
    EXPECT_EQ(one, three);
    EXPECT_EQ(t.clone().report().name, t.report().name);
}

struct TwinCase {
    const char *from, *to;
    bool from_north_first, to_north_first;
    double west, south, east, north;  // in the source's units, x and y
    double written = 1;               // cs2cs wants degrees even of a system in grads
};

// cs2cs (package proj-bin, 9.1.1) reads and writes the authority's axis order.
TEST(Transformation, AgreesWithCs2cs) {
    const TwinCase cases[] = {
        {"EPSG:4326", "EPSG:32633", true, false, 9, -10, 21, 80},
        {"EPSG:4326", "EPSG:2180", true, true, 15, 49.5, 24, 54.5},
        {"EPSG:4258", "EPSG:3035", true, true, -8, 37, 28, 68},
        {"EPSG:4167", "EPSG:2193", true, true, 168, -46, 178, -35},
        {"EPSG:31467", "EPSG:25832", true, false, 3400000, 5300000, 3600000, 5500000},
        {"EPSG:4314", "EPSG:31469", true, true, 12.5, 49, 13.5, 54},
        {"EPSG:4314", "EPSG:31466", true, true, 6.5, 49.5, 7.5, 51.5},
        {"EPSG:32632", "EPSG:3035", false, true, 400000, 5300000, 600000, 5900000},
        {"EPSG:21781", "EPSG:4326", false, true, 550000, 150000, 700000, 250000},
        {"EPSG:4807", "EPSG:27572", true, false, -2, 49, 4, 53, 0.9},                   // grads from Paris
        {"EPSG:2278", "EPSG:4269", false, true, 2000000, 13000000, 3000000, 14000000},  // US survey feet
    };
    std::mt19937_64 random(17);
    for (const TwinCase& c : cases) {
        SCOPED_TRACE(std::string(c.from) + " to " + c.to);
        std::uniform_real_distribution<double> x(c.west, c.east), y(c.south, c.north);
        std::vector<Point> points;
        for (int i = 0; i < 500; ++i) points.push_back({x(random), y(random)});
        const std::string path = testing::TempDir() + "subcrop_cs2cs_points.txt";
        {
            std::ofstream file(path);
            file.precision(17);
            for (const Point p : points) {
                file << c.written * (c.from_north_first ? p.y : p.x) << ' '
                     << c.written * (c.from_north_first ? p.x : p.y) << '\n';
            }
        }
        FILE* pipe = popen(("cs2cs -f %.10f " + std::string(c.from) + " " + c.to + " " + path).c_str(), "r");
        ASSERT_TRUE(pipe);
        const Transformation t(Crs(c.from), Crs(c.to), points, {});
        const auto flags = t.apply(points);
        const double slack = Crs(c.to).geographic() ? 1e-9 : 1e-4;
        std::size_t read = 0;
        double first = 0, second = 0, height = 0;
        while (std::fscanf(pipe, "%lf %lf %lf", &first, &second, &height) == 3) {
            ASSERT_LT(read, points.size());
            ASSERT_EQ(flags[read], 1);
            ASSERT_NEAR(points[read].x, c.to_north_first ? second : first, slack) << read;
            ASSERT_NEAR(points[read].y, c.to_north_first ? first : second, slack) << read;
            ++read;
        }
        EXPECT_EQ(pclose(pipe), 0);
        EXPECT_EQ(read, points.size());
        std::remove(path.c_str());
    }
}

}  // namespace
}  // namespace subcrop::geo
