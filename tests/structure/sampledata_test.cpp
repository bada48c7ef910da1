// The sample survey holds what its README says: a clean coverage, a truth beside it, a draft wrong in known ways and a
// field book with known slips. Read here with GDAL alone, so that a fault of our readers cannot hide one of the data.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::Ge;
using testing::Le;

const fs::path folder = fs::path(SUBCROP_SOURCE_DIR) / "sampledata";
constexpr double map_area = 6000.0 * 5000.0;

using Row = std::map<std::string, std::string>;
using Dataset = std::unique_ptr<GDALDataset, GDALDatasetUniquePtrDeleter>;

Dataset open(const std::string& name) {
    GDALAllRegister();
    Dataset data(GDALDataset::Open((folder / name).c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    EXPECT_NE(data, nullptr) << name;
    return data;
}

std::vector<Row> table(const std::string& name) {
    std::vector<Row> rows;
    const Dataset data = open(name);
    if (!data) return rows;
    for (const auto& feature : *data->GetLayer(0)) {
        Row row;
        for (int i = 0; i < feature->GetFieldCount(); ++i)
            row[feature->GetFieldDefnRef(i)->GetNameRef()] = feature->GetFieldAsString(i);
        rows.push_back(row);
    }
    return rows;
}

struct Piece {
    std::string unit;
    std::unique_ptr<OGRPolygon> polygon;
};

std::vector<Piece> pieces(const std::string& name) {
    std::vector<Piece> result;
    const Dataset data = open(name);
    if (!data) return result;
    for (const auto& feature : *data->GetLayer(0))
        result.push_back({feature->GetFieldAsString(0),
                          std::unique_ptr<OGRPolygon>(feature->GetGeometryRef()->toPolygon()->clone())});
    return result;
}

using Corner = std::pair<double, double>;

// Directed edges with the polygon on their left, and how often each stands.
std::map<std::pair<Corner, Corner>, int> edges(const std::vector<Piece>& map) {
    std::map<std::pair<Corner, Corner>, int> count;
    for (const Piece& piece : map) {
        bool outer = true;
        for (const OGRLinearRing* ring : *piece.polygon) {
            const bool reverse = (ring->isClockwise() != 0) == outer;
            for (int i = 0; i + 1 < ring->getNumPoints(); ++i) {
                Corner a{ring->getX(i), ring->getY(i)};
                Corner b{ring->getX(i + 1), ring->getY(i + 1)};
                if (reverse) std::swap(a, b);
                ++count[{a, b}];
            }
            outer = false;
        }
    }
    return count;
}

void expect_clean_coverage(const std::string& name) {
    const auto map = pieces(name);
    ASSERT_GT(map.size(), 10U);
    double area = 0;
    for (const Piece& piece : map) {
        EXPECT_TRUE(piece.polygon->IsValid()) << name << ", unit " << piece.unit;
        area += piece.polygon->get_Area();
    }
    EXPECT_NEAR(area, map_area, 1.0);
    const auto all = edges(map);
    std::size_t shared = 0;
    for (const auto& [edge, times] : all) {
        ASSERT_EQ(times, 1) << name << ": an edge twice on the same side";
        if (all.contains({edge.second, edge.first})) {
            ++shared;
            continue;
        }
        const auto& [a, b] = edge;
        const bool on_frame = (a.first == b.first && (a.first == 540000 || a.first == 546000)) ||
                              (a.second == b.second && (a.second == 6230000 || a.second == 6235000));
        ASSERT_TRUE(on_frame) << name << ": an edge inside the map has one side only, at " << a.first << " "
                              << a.second;
    }
    EXPECT_GT(shared, 2000U);
}

TEST(SampleData, MapsAreCleanCoverages) {
    expect_clean_coverage("draft_map.gpkg");
    expect_clean_coverage("truth/truth_map.gpkg");
}

std::string unit_at(const std::vector<Piece>& map, double x, double y) {
    const OGRPoint point(x, y);
    for (const Piece& piece : map)
        if (piece.polygon->Contains(&point)) return piece.unit;
    return "";
}

TEST(SampleData, TruthOfEveryStopIsTheTruthMapsUnit) {
    const auto truth = pieces("truth/truth_map.gpkg");
    const auto draft = pieces("draft_map.gpkg");
    const auto stops = table("truth/truth_stops.csv");
    ASSERT_EQ(stops.size(), 220U);
    for (const Row& stop : stops) {
        const double x = std::stod(stop.at("x"));
        const double y = std::stod(stop.at("y"));
        EXPECT_EQ(unit_at(truth, x, y), stop.at("unit")) << stop.at("stop");
        EXPECT_EQ(unit_at(draft, x, y), stop.at("draft_unit")) << stop.at("stop");
    }
}

TEST(SampleData, DraftIsWrongInThreeKnownWaysAndMostlyRight) {
    std::map<std::string, double> area;
    const Dataset data = open("truth/errors.gpkg");
    ASSERT_NE(data, nullptr);
    double total = 0;
    for (const auto& feature : *data->GetLayer(0)) {
        const double part = feature->GetGeometryRef()->toPolygon()->get_Area();
        area[feature->GetFieldAsString("kind")] += part;
        total += part;
    }
    EXPECT_EQ(area.size(), 3U);
    EXPECT_GT(area["shift"], 0.5e6);
    EXPECT_GT(area["interpolated"], 0.05e6);
    EXPECT_THAT(area["relabelled"], AllOf(Ge(0.2e6), Le(0.4e6)));
    EXPECT_THAT(total / map_area, AllOf(Ge(0.05), Le(0.12)));

    // The same ground found in another way: points on a lattice looked up in both maps.
    const auto truth = pieces("truth/truth_map.gpkg");
    const auto draft = pieces("draft_map.gpkg");
    int wrong = 0;
    int points = 0;
    for (double x = 540025; x < 546000; x += 100) {
        for (double y = 6230025; y < 6235000; y += 100) {
            ++points;
            if (unit_at(truth, x, y) != unit_at(draft, x, y)) ++wrong;
        }
    }
    // 3,000 points: standard error of a share of 0.08 is 0.005
    EXPECT_NEAR(static_cast<double>(wrong) / points, total / map_area, 0.015);
}

TEST(SampleData, FieldBookHoldsTheSlipsTheReadmeLists) {
    std::ifstream file(folder / "README.md");
    std::map<std::string, std::vector<Row>> tables{{"stops.csv", table("stops.csv")},
                                                   {"horizons.csv", table("horizons.csv")}};
    std::string line;
    int slips = 0;
    while (std::getline(file, line)) {
        std::istringstream cells(line);
        std::string empty, name, row, what;
        if (!std::getline(cells, empty, '|') || !std::getline(cells, name, '|') || !std::getline(cells, row, '|') ||
            !std::getline(cells, what, '|'))
            continue;
        name = name.substr(name.find('`') + 1, name.rfind('`') - name.find('`') - 1);
        if (!tables.contains(name) || row.find_first_not_of(" 0123456789") != std::string::npos) continue;
        const auto number = static_cast<std::size_t>(std::stoi(row));
        ASSERT_THAT(number, AllOf(Ge(2U), Le(tables[name].size() + 1))) << line;
        ++slips;
        const auto tick = what.find('`');
        if (tick == std::string::npos) continue;
        const std::string quoted = what.substr(tick + 1, what.find('`', tick + 1) - tick - 1);
        bool found = false;
        for (const auto& [field, value] : tables[name][number - 2]) found = found || value == quoted;
        EXPECT_TRUE(found) << line;
    }
    EXPECT_THAT(slips, AllOf(Ge(8), Le(16)));
}

TEST(SampleData, HorizonsBelongToStopsButForOneTypingError) {
    std::set<std::string> ids;
    std::size_t rock_seen = 0;
    const auto stops = table("stops.csv");
    std::map<std::string, int> traverses;
    for (const Row& stop : stops) {
        ids.insert(stop.at("stop"));
        ++traverses[stop.at("traverse")];
        if (!stop.at("unit_seen").empty()) ++rock_seen;
    }
    EXPECT_EQ(stops.size(), 221U);  // one is entered twice
    EXPECT_EQ(ids.size(), 220U);
    EXPECT_EQ(traverses.size(), 10U);
    EXPECT_EQ(rock_seen, 15U);
    std::size_t strays = 0;
    for (const Row& horizon : table("horizons.csv"))
        if (!ids.contains(horizon.at("stop"))) ++strays;
    EXPECT_EQ(strays, 1U);
}

TEST(SampleData, IsSmall) {
    std::uintmax_t bytes = 0;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        // What scripts/demo writes there is none of it.
        const std::string name = entry.path().filename();
        const bool result = entry.path().string().find("/results") != std::string::npos ||
                            name.starts_with("adopted_map") || name.starts_with("decisions.");
        if (entry.is_regular_file() && !result) bytes += entry.file_size();
    }
    EXPECT_LT(bytes, 2'500'000U);
}

}  // namespace
