// One table of a real PostGIS database.
#include <gmock/gmock.h>

#include "io/postgis/cluster.hpp"

namespace subcrop::io {
namespace {

using testing::DoubleNear;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

TEST(PostGis, OneTableIsReadLikeAnyOther) {
    const Cluster cluster;
    ASSERT_TRUE(cluster.started()) << "install postgresql and postgis";
    ASSERT_TRUE(cluster.query(R"(
        CREATE EXTENSION postgis;
        CREATE SCHEMA book;
        CREATE TABLE book.stops (gid serial PRIMARY KEY, site text, seen varchar(4), slope numeric(5, 2), taken date,
                                 plants text[], texture text, geom geometry(PointZ, 4326));
        INSERT INTO book.stops (site, seen, slope, taken, plants, texture, geom) VALUES
            ('007', 'Kd', 12.25, '2026-05-03', '{ash,hazel}', 'SIL', 'SRID=4326;POINT Z (15.004 46.956 800)'),
            ('008', NULL, NULL, NULL, NULL, NULL, 'SRID=4326;POINT Z (15.0141 46.957 810)'),
            ('009', 'Jl', 3, NULL, NULL, 'C', NULL);
        CREATE TABLE units (id serial PRIMARY KEY, code text, geom geometry(MultiPolygon, 32633));
        INSERT INTO units (code, geom) VALUES
            ('Kd', ST_Multi(ST_MakeEnvelope(500000, 5200000, 501000, 5201000, 32633))),
            ('Jl', ST_Multi(ST_MakeEnvelope(501000, 5200000, 502000, 5201000, 32633)));)"))
        << "see the log; the package postgis is needed";
    const std::string map =
        R"("map": {"source": ")" + cluster.connection() + R"(", "layer": "units", "columns": {"unit": "code"}})";
    const ReadSurvey read = read_all(
        cluster.folder(),
        R"({"stops": {"source": ")" + cluster.connection() +
            R"(", "layer": "book.stops", "columns": {"stop": "site", "unit_seen": "seen", "slope_deg": "slope", "date": "taken"}}, )" +
            map + "}");
    const model::Survey& survey = read.survey;
    ASSERT_EQ(survey.stops.size(), 2U);
    EXPECT_EQ(survey.stops[0].id, "007");
    EXPECT_EQ(survey.stops[0].row, 1);
    EXPECT_EQ(survey.stops[0].slope_deg, 12.25);
    EXPECT_EQ(survey.stops[0].date.str(), "2026-05-03");
    EXPECT_EQ(survey.stops[0].plants.str(), "ash; hazel");
    EXPECT_EQ(survey.units[static_cast<std::size_t>(survey.stops[0].unit_seen)].code, "Kd");
    EXPECT_EQ(survey.horizons[survey.stops[0].first_horizon].texture.str(), "SIL");
    // echo 46.956 15.004 | cs2cs -f %.3f EPSG:4326 EPSG:32633 (PROJ 9.1.1) gives 500304.352 5200274.576.
    EXPECT_THAT(survey.stops[0].position.x, DoubleNear(500304.352, 0.001));
    EXPECT_THAT(survey.stops[0].position.y, DoubleNear(5200274.576, 0.001));
    EXPECT_EQ(survey.map.size(), 2U);
    EXPECT_EQ(survey.crs_name, "WGS 84 / UTM zone 33N");
    EXPECT_THAT(lines_of(read.problems), ElementsAre(HasSubstr("3: the stop has no position; the stop is left out")));
    EXPECT_THAT(read.problems[0].source, Not(HasSubstr("secret")));
    EXPECT_THAT(read.problems[0].source, HasSubstr(":book.stops"));

    const std::string wrong_table =
        error_of(cluster.folder(), R"({"stops": {"source": ")" + cluster.connection() + R"(", "layer": "book.stop"}})");
    EXPECT_THAT(wrong_table,
                HasSubstr("there is no layer 'book.stop'. Did you mean 'book.stops'? Its layers: book.stops, "));
    EXPECT_THAT(wrong_table, Not(HasSubstr("secret")));
    const std::string wrong_base =
        error_of(cluster.folder(),
                 R"({"stops": {"source": "PG:host=/nowhere-at-all dbname=postgres password=secret", "layer": "x"}})");
    EXPECT_THAT(wrong_base, HasSubstr("cannot be opened"));
    EXPECT_THAT(wrong_base, HasSubstr("Check the connection, the name of the database and that the server runs."));
    EXPECT_THAT(wrong_base, Not(HasSubstr("secret")));
}

}  // namespace
}  // namespace subcrop::io
