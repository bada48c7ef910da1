// The examples at the head of the public headers of io and model, word for word: they compile, and they do what they
// say.
#include <gtest/gtest.h>

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "publish/invented_survey.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/new_survey.hpp"
#include "subcrop/io/plane_trace.hpp"
#include "subcrop/model/audit.hpp"

namespace subcrop::io {
namespace {

namespace fs = std::filesystem;

/// Works in a folder of its own, as one does in a shell.
class IoHeaderExample : public testing::Test {
protected:
    IoHeaderExample() : holder_(testing::TempDir()), before_(fs::current_path()) { fs::current_path(holder_.path()); }
    ~IoHeaderExample() override { fs::current_path(before_); }

private:
    publish::test::TemporaryFolder holder_;
    fs::path before_;
};

TEST_F(IoHeaderExample, LayerWriter) {
    model::Survey survey;
    survey.crs_wkt = geo::Crs("EPSG:32633").wkt();

    LayerDefinition places{.name = "places", .geometry = GeometryKind::point, .fields = {{.name = "place"}}};
    LayerWriter writer("results/results.gpkg", survey.crs_wkt, {.layers = {places}});
    RowBatch rows;
    rows.point({500000, 5500000}).text("A").end_row();
    writer.append(0, std::move(rows));
    writer.finish();  // only now does results.gpkg change

    EXPECT_GT(fs::file_size("results/results.gpkg"), 0U);
}

TEST_F(IoHeaderExample, NewSurvey) {
    auto files = write_new_survey({.folder = "hesk", .title = "Hesk valley"});
    // hesk/survey.json, field_book.gpkg (stops, horizons, boreholes, borehole_logs, attitudes, legend),
    // draft_map.gpkg (units), columns.txt

    EXPECT_EQ(files.front(), "hesk/survey.json");
    for (const char* name : {"survey.json", "field_book.gpkg", "draft_map.gpkg", "columns.txt"})
        EXPECT_TRUE(fs::exists(fs::path("hesk") / name)) << name;
}

TEST_F(IoHeaderExample, PlaneTrace) {
    geo::HeightGrid heights(0, 1000, 10, 100, 100);
    for (std::int64_t r = 0; r < 100; ++r)
        for (std::int64_t c = 0; c < 100; ++c) heights.set(c, r, 0.2 * heights.centre(c, r).y);
    const geo::Terrain ground(std::move(heights));
    const geo::Plane plane = *geo::plane_through({90, 10, 2, 2}, {500, 500, 100}).value;
    const std::string crs_wkt = geo::Crs("EPSG:32633").wkt();

    PlaneTrace trace = trace_plane(plane, ground, 2);
    write_plane_trace("trace.gpkg", crs_wkt, trace, plane);

    EXPECT_GT(trace.length_m, 0);
    EXPECT_TRUE(fs::exists("trace.gpkg"));
}

}  // namespace
}  // namespace subcrop::io

namespace subcrop::model {
namespace {

TEST(HeaderExample, Audit) {
    Survey survey;
    survey.texts = std::make_shared<TextPool>();
    survey.stops.resize(1);
    survey.horizons.resize(2);
    survey.stops[0].horizon_count = 2;
    survey.horizons[0].top_cm = 0;
    survey.horizons[0].bottom_cm = 30;
    survey.horizons[1].top_cm = 20;  // overlaps the one above
    survey.horizons[1].bottom_cm = 60;

    ProblemLog problems;
    Reduced reduced = reduce(survey, problems);
    audit(survey, reduced, 0, problems);

    EXPECT_GT(problems.size(), 0U);
}

}  // namespace
}  // namespace subcrop::model
