// One attitude read a quarter turn off, from the tables to the results: it is named, and contacts run no worse for it.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <random>

#include "publish/invented_survey.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

constexpr double west = 500000, south = 5600000, width = 2000, length = 3000, drafted = 1000;
constexpr double rise = 0.1, spur_m = 30, spur_reach = 200;

/// Rises to the east, with spurs and hollows.
double height(double x, double y) { return 100 + rise * x + spur_m * std::sin(y / spur_reach); }
/// Beds strike north and dip 25 degrees to the east, so that ground less bed rises by 0.1 + tan 25 a metre to the east:
/// the contact swings 53 m to either side of a straight line.
double contact_x(double y) { return drafted - spur_m * std::sin(y / spur_reach) / (rise + std::tan(25 * M_PI / 180)); }

void write_terrain(const fs::path& file) {
    constexpr int cell = 20, columns = 160, rows = 210;  // 600 m of ground beyond the stops on each side
    const GDALDatasetUniquePtr raster(
        GetGDALDriverManager()->GetDriverByName("GTiff")->Create(file.c_str(), columns, rows, 1, GDT_Float32, nullptr));
    double corner[6] = {west - 600, cell, 0, south - 600 + rows * cell, 0, -cell};
    raster->SetGeoTransform(corner);
    OGRSpatialReference system;
    system.importFromEPSG(32633);
    raster->SetSpatialRef(&system);
    std::vector<float> line(columns);
    for (int r = 0; r < rows; ++r) {
        for (int c = 0; c < columns; ++c)
            line[static_cast<std::size_t>(c)] =
                static_cast<float>(height(-600 + cell * (c + 0.5), length + 600 - cell * (r + 0.5)));
        ASSERT_EQ(
            raster->GetRasterBand(1)->RasterIO(GF_Write, 0, r, columns, 1, line.data(), columns, 1, GDT_Float32, 0, 0),
            CE_None);
    }
}

class WrongAttitudeTest : public testing::Test {
protected:
    WrongAttitudeTest() : holder(testing::TempDir()), folder(holder.path()) { GDALAllRegister(); }

    void SetUp() override {
        write_terrain(folder / "terrain.tif");
        std::mt19937_64 random(11);
        const auto share = [&random] { return static_cast<double>(random() >> 11U) * 0x1.0p-53; };
        std::string stops = "stop,x,y,position_sd_m,colour_moist,texture,unit_seen\n";
        for (int i = 0; i < 400; ++i) {
            const double x = share() * width, y = share() * length;
            const bool first = x < contact_x(y), odd = share() < 0.1;
            stops += "S" + std::to_string(i + 1) + ',' + std::to_string(west + x) + ',' + std::to_string(south + y) +
                     ",8," + (first != odd ? "10YR 4/3,L," : "2.5YR 4/6,C,") +
                     (i % 4 == 0 ? (first ? "SND\n" : "MUD\n") : "\n");
        }
        test::write_file(folder / "stops.csv", stops);
        const auto strip = [](const char* unit, double from, double to) {
            const auto corner = [](double x, double y) {
                return "[" + std::to_string(west + x) + "," + std::to_string(south + y) + "]";
            };
            return std::string(R"({"type":"Feature","properties":{"unit":")") + unit +
                   R"("},"geometry":{"type":"Polygon","coordinates":[[)" + corner(from, 0) + "," + corner(to, 0) + "," +
                   corner(to, length) + "," + corner(from, length) + "," + corner(from, 0) + "]]}}";
        };
        test::write_file(
            folder / "map.geojson",
            R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}},"features":[)" +
                strip("SND", 0, drafted) + "," + strip("MUD", drafted, width) + "]}");
    }

    /// Eight attitudes, the given one turned by 90 degrees; 0: none turned; -1: no attitudes.
    fs::path run(int turned) {
        std::string dips = "x,y,strike_deg,dip_deg,error_deg\n";
        for (int i = 1; i <= 8; ++i) {
            dips += std::to_string(west + 240.0 * i) + ',' + std::to_string(south + 350 * i - 100 * (i % 3)) + ',' +
                    std::to_string(i == turned  ? 90 + 2 * (i % 3)
                                   : i % 2 == 0 ? 2
                                                : 358) +
                    ',' + std::to_string(24 + i % 3) + ",4\n";
        }
        test::write_file(folder / "dips.csv", dips);
        test::write_file(
            folder / "survey.json",
            std::string(R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
"map": {"source": "map.geojson", "contact_sd_m": 50}, "terrain": {"source": "terrain.tif"}, "settings": {"creep": {"length_m": 0}},)") +
                (turned < 0 ? "" : R"("attitudes": {"source": "dips.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},)") +
                R"("results": "results"})");
        RunOptions options;
        options.report = false;
        return run_survey(folder / "survey.json", options, silent).result_file;
    }

    /// Mean distance, east to west, of the relocated contact from the true one.
    static double error_of(const fs::path& results) {
        const GDALDatasetUniquePtr file(GDALDataset::Open(results.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        double sum = 0, count = 0;
        for (const auto& feature : file->GetLayerByName("relocated_contacts")) {
            const std::unique_ptr<OGRGeometry> line(feature->GetGeometryRef()->clone());
            line->segmentize(10);
            const OGRGeometry* flat = line.get();
            const auto add = [&](const OGRLineString& part) {
                for (const OGRPoint& p : part) {
                    sum += std::abs(p.getX() - west - contact_x(p.getY() - south));
                    ++count;
                }
            };
            if (wkbFlatten(flat->getGeometryType()) == wkbLineString)
                add(*flat->toLineString());
            else
                for (const auto* part : *flat->toMultiLineString()) add(*part);
        }
        return sum / count;
    }

    static std::vector<std::string> warnings_of(const fs::path& results) {
        const GDALDatasetUniquePtr file(GDALDataset::Open(results.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        std::vector<std::string> lines;
        for (const auto& feature : file->GetLayerByName("problems"))
            if (std::string(feature->GetFieldAsString("severity")) != "note")
                lines.push_back(std::string(feature->GetFieldAsString("source")) + ' ' +
                                std::to_string(feature->GetFieldAsInteger("row")) + ": " +
                                feature->GetFieldAsString("message"));
        return lines;
    }

    test::TemporaryFolder holder;
    fs::path folder;
    Progress silent;
};

TEST_F(WrongAttitudeTest, IsNamedAndContactsRunNoWorseForIt) {
    const double none = error_of(run(-1));
    const fs::path right = run(0);
    const double with_beds = error_of(right);
    EXPECT_TRUE(warnings_of(right).empty());
    EXPECT_LT(with_beds, 0.8 * none) << "beds measured rightly should help here";
    const fs::path wrong = run(5);
    EXPECT_THAT(
        warnings_of(wrong),
        testing::ElementsAre(HasSubstr("dips.csv 6: the attitude (strike 94°, dip 26°) is at odds with all others")));
    EXPECT_LE(error_of(wrong), none);
    EXPECT_NEAR(error_of(wrong), with_beds, 5);
    RecordProperty("mean_error_m_without_with_and_one_wrong",
                   std::to_string(none) + ", " + std::to_string(with_beds) + ", " + std::to_string(error_of(wrong)));
}

}  // namespace
}  // namespace subcrop::publish
