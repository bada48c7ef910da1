// Rasters of heights: units, voids, projections, and slope and aspect as GDAL reckons them.
#include "subcrop/io/terrain_reader.hpp"

#include <gdal_priv.h>
#include <gdal_utils.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "io/gdal_support.hpp"
#include "io/scratch_survey.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

constexpr double none = -9999;

/// A raster of hills: 60 x 50 cells of 20 m from (500000, 5201000) in EPSG:32633, with a void.
struct Hills {
    int columns = 60, rows = 50;
    std::string crs = "EPSG:32633";
    std::array<double, 6> placed{500000, 20, 0, 5201000, 0, -20};
    std::string unit = "m";
    double factor = 1;  // of the heights
    GDALDataType type = GDT_Float32;

    static double height(double x, double y) {
        return 400 + 80 * std::sin((x - 500000) / 130) * std::cos((y - 5200000) / 170) + 0.05 * (x - 500000);
    }
    GDALDatasetUniquePtr made() const {
        start_gdal();
        GDALDatasetUniquePtr raster(
            GetGDALDriverManager()->GetDriverByName("MEM")->Create("", columns, rows, 1, type, nullptr));
        OGRSpatialReference system;
        if (!crs.empty()) {
            system.SetFromUserInput(crs.c_str());
            raster->SetSpatialRef(&system);
        }
        auto g = placed;
        raster->SetGeoTransform(g.data());
        GDALRasterBand* band = raster->GetRasterBand(1);
        band->SetUnitType(unit.c_str());
        band->SetNoDataValue(none);
        std::vector<double> line(static_cast<std::size_t>(columns));
        for (int r = 0; r < rows; ++r) {
            for (int c = 0; c < columns; ++c) {
                const double x = g[0] + (c + 0.5) * g[1], y = g[3] + (r + 0.5) * g[5];
                line[static_cast<std::size_t>(c)] = c == 10 && r == 10 ? none : factor * height(x, y);
            }
            EXPECT_EQ(band->RasterIO(GF_Write, 0, r, columns, 1, line.data(), columns, 1, GDT_Float64, 0, 0), CE_None);
        }
        return raster;
    }
    void save(const std::filesystem::path& path) const {
        const auto raster = made();
        GDALDatasetUniquePtr copy(GetGDALDriverManager()->GetDriverByName("GTiff")->CreateCopy(
            path.c_str(), raster.get(), false, nullptr, nullptr, nullptr));
        ASSERT_TRUE(copy);
    }
};

class TerrainReading : public testing::Test {
protected:
    TerrainRead read(const Hills& hills, const std::string& crs = {}, const std::string& unit = {},
                     std::optional<Box> wanted = {}) {
        hills.save(folder_.path() / "hills.tif");
        return read_file("hills.tif", crs, unit, wanted);
    }
    TerrainRead read_file(const std::string& name, const std::string& crs = {}, const std::string& unit = {},
                          std::optional<Box> wanted = {}) {
        SurveyFile file;
        file.path = folder_.path() / "survey.json";
        TerrainDescription description;
        description.source = name;
        description.vertical_unit = unit;
        return read_terrain(file, description, crs.empty() ? crs : geo::Crs(crs).wkt(), wanted, 2, log_);
    }
    std::string refusal(const std::string& name, const std::string& crs = {}) {
        try {
            read_file(name, crs);
        } catch (const Error& error) {
            return error.what();
        }
        return {};
    }
    ScratchFolder folder_;
    ProblemLog log_;
};

TEST_F(TerrainReading, SlopeAndAspectAreThoseOfGdaldem) {
    const Hills hills;
    const auto read_ground = read(hills);
    ASSERT_TRUE(read_ground.terrain);
    const geo::Terrain& ground = *read_ground.terrain;
    const auto source = hills.made();
    int compared = 0;
    for (const char* what : {"slope", "aspect"}) {
        const char* arguments[] = {"-of", "MEM", "-alg", "Horn", nullptr};
        GDALDEMProcessingOptions* options = GDALDEMProcessingOptionsNew(const_cast<char**>(arguments), nullptr);
        const GDALDatasetUniquePtr shape(GDALDataset::FromHandle(
            GDALDEMProcessing("", GDALDataset::ToHandle(source.get()), what, nullptr, options, nullptr)));
        GDALDEMProcessingOptionsFree(options);
        ASSERT_TRUE(shape);
        for (int r = 0; r < hills.rows; ++r) {
            for (int c = 0; c < hills.columns; ++c) {
                float expected = 0;
                ASSERT_EQ(shape->GetRasterBand(1)->RasterIO(GF_Read, c, r, 1, 1, &expected, 1, 1, GDT_Float32, 0, 0),
                          CE_None);
                if (expected == -9999.0f) continue;  // GDAL leaves out the edge and the void's neighbours
                const auto surface = ground.surface(ground.grid().centre(c, r));
                ASSERT_TRUE(surface);
                // Single precision on both sides.
                if (*what == 's')
                    EXPECT_NEAR(surface->slope_deg, static_cast<double>(expected), 2e-3) << c << ' ' << r;
                else
                    EXPECT_NEAR(std::remainder(*surface->aspect_deg - static_cast<double>(expected), 360), 0, 0.05)
                        << c << ' ' << r;
                ++compared;
            }
        }
    }
    EXPECT_EQ(compared, 2 * (58 * 48 - 9));
    EXPECT_THAT(log_.sorted(), IsEmpty());
}

TEST_F(TerrainReading, VoidsAndWindow) {
    const auto ground = read({}, "EPSG:32633", {}, Box{500105, 5200600, 500395, 5200900});
    ASSERT_TRUE(ground.terrain);
    EXPECT_EQ(ground.terrain->grid().columns(), 15);  // whole cells that meet the window
    EXPECT_EQ(ground.terrain->grid().rows(), 15);
    EXPECT_FALSE(ground.terrain->height({500210, 5200790}));
    EXPECT_NEAR(*ground.terrain->height({500290, 5200690}), Hills::height(500290, 5200690), 1e-3);
}

TEST_F(TerrainReading, FeetBecomeMetres) {
    Hills hills;
    hills.factor = 1 / 0.3048;
    hills.unit = "ft";
    const Point p{500290, 5200690};
    EXPECT_NEAR(*read(hills).terrain->height(p), Hills::height(p.x, p.y), 1e-3);
    hills.unit = "";
    EXPECT_NEAR(*read(hills, {}, "ft").terrain->height(p), Hills::height(p.x, p.y), 1e-3);
    // The US survey foot is 2 millionths longer.
    EXPECT_NEAR(*read(hills, {}, "us-ft").terrain->height(p), Hills::height(p.x, p.y) * 1.000002, 1e-4);
    EXPECT_THAT(log_.sorted(), IsEmpty());
    hills.unit = "m";
    read(hills, {}, "ft");
    EXPECT_THAT(
        lines_of(log_.sorted()),
        ElementsAre(
            "warning hills.tif: the raster says its heights are in metres, the survey file that they are in feet; the "
            "survey file is followed | Take the key 'vertical_unit' out of 'terrain' if the raster is right."));
}

TEST_F(TerrainReading, HeightsTheEarthDoesNotHave) {
    Hills hills;
    hills.factor = 100;  // centimetres
    EXPECT_FALSE(read(hills).terrain);
    EXPECT_THAT(
        lines_of(log_.sorted()),
        ElementsAre(StartsWith(
            "error hills.tif: read in metres, most heights are outside -1000 to 9000 m; the terrain is left out")));
    hills.unit = "cm";
    EXPECT_TRUE(read(hills).terrain);
}

TEST_F(TerrainReading, TooSteepForTheUnit) {
    Hills hills;
    hills.factor = 8;
    EXPECT_TRUE(read(hills).terrain);
    EXPECT_THAT(lines_of(log_.sorted()), ElementsAre(HasSubstr("half of the land would slope by more than")));
}

TEST_F(TerrainReading, AnotherProjection) {
    Hills hills;
    const Point p{500290, 5200690};
    hills.save(folder_.path() / "utm.tif");
    // Degrees, by GDAL's own warper, and back to UTM: twice interpolated.
    const GDALDatasetUniquePtr source(GDALDataset::Open((folder_.path() / "utm.tif").c_str()));
    const char* arguments[] = {"-t_srs", "EPSG:4326", "-r", "cubic", "-dstnodata", "-9999", nullptr};
    GDALWarpAppOptions* options = GDALWarpAppOptionsNew(const_cast<char**>(arguments), nullptr);
    GDALDatasetH from = source.get();
    GDALClose(GDALWarp((folder_.path() / "degrees.tif").c_str(), nullptr, 1, &from, options, nullptr));
    GDALWarpAppOptionsFree(options);
    const auto ground = read_file("degrees.tif", "EPSG:32633", {}, Box{500100, 5200100, 500900, 5200900});
    ASSERT_TRUE(ground.terrain);
    EXPECT_NEAR(ground.terrain->cell_m(), 20, 2);
    EXPECT_NEAR(*ground.terrain->height(p), Hills::height(p.x, p.y), 0.8);
    EXPECT_THAT(refusal("degrees.tif"), HasSubstr("WGS 84 is not a projection in metres"));
    EXPECT_THAT(log_.sorted(), IsEmpty());
    EXPECT_FALSE(read_file("degrees.tif", "EPSG:32633", {}, Box{900000, 5200100, 900900, 5200900}).terrain);
    EXPECT_THAT(lines_of(log_.sorted()), ElementsAre(HasSubstr("the terrain covers none of the survey")));
}

TEST_F(TerrainReading, OblongCellsBecomeSquare) {
    Hills hills;
    hills.columns = 120;
    hills.placed[1] = 10;
    const auto ground = read(hills);
    ASSERT_TRUE(ground.terrain);
    EXPECT_NEAR(ground.terrain->cell_m(), std::sqrt(200.0), 0.01);
    EXPECT_NEAR(*ground.terrain->height({500290, 5200690}), Hills::height(500290, 5200690), 0.5);
}

TEST_F(TerrainReading, WholeMetres) {
    Hills hills;
    hills.type = GDT_Int16;
    EXPECT_EQ(read(hills).terrain->hillslope_m(), 20);
    hills.factor = 1 / 3.0;
    hills.unit = "";
    // Steps of 3 m need a wider look: 3 / 8 / 0.01.
    auto raster = hills.made();
    raster->GetRasterBand(1)->SetScale(3);
    GDALDatasetUniquePtr(GetGDALDriverManager()->GetDriverByName("GTiff")->CreateCopy(
        (folder_.path() / "steps.tif").c_str(), raster.get(), false, nullptr, nullptr, nullptr));
    const auto ground = read_file("steps.tif");
    EXPECT_NEAR(ground.terrain->hillslope_m(), 37.5, 1e-9);
    EXPECT_NEAR(*ground.terrain->height({500290, 5200690}), Hills::height(500290, 5200690), 2);
}

/// A raster may name its overviews, and GDAL would fetch them.
TEST_F(TerrainReading, OverviewsThatStandElsewhereAreRefused) {
    Hills().save(folder_.path() / "far.tif");
    const auto name = [&](const std::string& overviews) {
        folder_.write("far.tif.aux.xml", "<PAMDataset><Metadata domain=\"OVERVIEWS\"><MDI key=\"OVERVIEW_FILE\">" +
                                             overviews + "</MDI></Metadata></PAMDataset>");
    };
    name("/vsicurl/http://127.0.0.1:9/far.tif");
    EXPECT_THAT(
        refusal("far.tif"),
        HasSubstr("far.tif: its overviews are said to be in '/vsicurl/http://127.0.0.1:9/far.tif', which is not read. "
                  "Save the raster as a GeoTIFF of its own and name that."));
    name(":::BASE:::far.ovr");
    EXPECT_TRUE(read_file("far.tif").terrain);
}

TEST_F(TerrainReading, WhatIsNoTerrain) {
    EXPECT_THAT(refusal("dem.tif"), HasSubstr("dem.tif: there is no such file"));
    folder_.write("map.geojson", two_squares);
    EXPECT_THAT(refusal("map.geojson"), HasSubstr("map.geojson: this is no raster. Give a raster of heights"));
    folder_.write("words.tif", "no picture");
    EXPECT_THAT(refusal("words.tif"), HasSubstr("words.tif: the raster cannot be opened"));
    EXPECT_THAT(refusal((folder_.path() / "words.tif").string()), HasSubstr("words.tif: the raster cannot be opened"));
    Hills hills;
    hills.crs = "";
    hills.save(folder_.path() / "nowhere.tif");
    EXPECT_THAT(refusal("nowhere.tif"), HasSubstr("nowhere.tif: it states no coordinate reference system"));
}

TEST(TerrainInTheSurveyFile, VerticalUnit) {
    ScratchFolder folder;
    const auto json = [](const std::string& terrain) {
        return R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}, "terrain": )" + terrain +
               "}";
    };
    const auto file =
        read_survey_file(folder.write("survey.json", json(R"({"source": "dem.tif", "vertical_unit": "us-ft"})")));
    EXPECT_EQ(file.terrain->vertical_unit, "us-ft");
    EXPECT_THAT(error_of(folder, json(R"({"source": "dem.tif", "vertical_unit": "fathoms"})")),
                HasSubstr("terrain.vertical_unit"));
}

}  // namespace
}  // namespace subcrop::io
