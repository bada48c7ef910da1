// Results in a real PostGIS database. psql and GDAL's reader are the outside judges.
#include "publish/database.hpp"

#include <gmock/gmock.h>
#include <ogrsf_frmts.h>

#include <atomic>
#include <set>
#include <thread>

#include "io/postgis/cluster.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::publish {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string refusal(const DatabaseTarget& target) {
    try {
        check_database(target);
    } catch (const Error& error) {
        return error.what();
    }
    return "none";
}

void compare(OGRLayer& wanted, OGRLayer& layer) {
    const std::string name = wanted.GetName();
    ASSERT_EQ(layer.GetFeatureCount(), wanted.GetFeatureCount()) << name;
    if (wanted.GetGeomType() != wkbNone) {
        ASSERT_NE(layer.GetSpatialRef(), nullptr) << name;
        EXPECT_TRUE(layer.GetSpatialRef()->IsSame(wanted.GetSpatialRef())) << name;
        EXPECT_STREQ(layer.GetGeometryColumn(), "geom");
    }
    OGRFeatureDefn &columns = *wanted.GetLayerDefn(), &found = *layer.GetLayerDefn();
    ASSERT_EQ(found.GetFieldCount(), columns.GetFieldCount()) << name;
    for (int i = 0; i < columns.GetFieldCount(); ++i) {
        ASSERT_STREQ(found.GetFieldDefn(i)->GetNameRef(), columns.GetFieldDefn(i)->GetNameRef());
        EXPECT_EQ(found.GetFieldDefn(i)->GetType(), columns.GetFieldDefn(i)->GetType())
            << columns.GetFieldDefn(i)->GetNameRef();
    }
    for (const auto& row : wanted) {
        const OGRFeatureUniquePtr got(layer.GetFeature(row->GetFID()));
        ASSERT_TRUE(got) << name << ' ' << row->GetFID();
        ASSERT_EQ(got->GetGeometryRef() == nullptr, row->GetGeometryRef() == nullptr) << name;
        if (row->GetGeometryRef() != nullptr) {
            EXPECT_TRUE(got->GetGeometryRef()->Equals(row->GetGeometryRef())) << name << ' ' << row->GetFID();
        }
        for (int i = 0; i < columns.GetFieldCount(); ++i) {
            ASSERT_EQ(got->IsFieldSetAndNotNull(i), row->IsFieldSetAndNotNull(i)) << name;
            if (columns.GetFieldDefn(i)->GetType() == OFTReal) {
                EXPECT_EQ(got->GetFieldAsDouble(i), row->GetFieldAsDouble(i));
            } else {
                EXPECT_STREQ(got->GetFieldAsString(i), row->GetFieldAsString(i));
            }
        }
    }
}

TEST(Database, HoldsWhatTheGeoPackageHoldsAndIsReplacedInOneGo) {
    const io::Cluster cluster;
    if (!cluster.started())
        GTEST_SKIP() << "no PostgreSQL server can be started here; install postgresql and postgresql-15-postgis-3";
    const DatabaseTarget target{cluster.connection(), "field results"};  // a name that has to be quoted
    EXPECT_THAT(refusal(target), AllOf(HasSubstr("the database has no PostGIS"), HasSubstr("CREATE EXTENSION postgis"),
                                       Not(HasSubstr("secret"))));
    ASSERT_TRUE(cluster.query("CREATE EXTENSION postgis; CREATE SCHEMA taken; CREATE TABLE taken.walls (height int);"));
    EXPECT_THAT(
        refusal({cluster.connection(), "taken"}),
        HasSubstr("the schema 'taken' holds tables that are no results of subcrop. Name another with --schema"));

    const test::TemporaryFolder folder(testing::TempDir());
    const std::filesystem::path survey = test::write_survey(folder.path(), {.mistakes = true});
    Progress silent;
    RunSummary summary = run_survey(survey, {.report = false, .database = target}, silent);
    EXPECT_THAT(summary.database,
                AllOf(HasSubstr("PG:"), HasSubstr("password=..., schema field results"), Not(HasSubstr("secret"))));
    const auto compare_all = [&] {
        const GDALDatasetUniquePtr file(
            GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        CPLStringList options;
        options.SetNameValue("LIST_ALL_TABLES", "YES");
        const GDALDatasetUniquePtr database(
            GDALDataset::Open(target.connection.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY, nullptr, options.List()));
        ASSERT_TRUE(database);
        std::size_t compared = 0;
        for (OGRLayer* layer : file->GetLayers()) {
            if (std::string(layer->GetName()) == "layer_styles") continue;
            OGRLayer* found = database->GetLayerByName(("field results." + std::string(layer->GetName())).c_str());
            ASSERT_NE(found, nullptr) << layer->GetName();
            compare(*layer, *found);
            ++compared;
        }
        EXPECT_EQ(compared, 14U);
    };
    compare_all();
    EXPECT_EQ(cluster.answer("SELECT count(*) FROM pg_namespace WHERE nspname LIKE '%incoming%'"), "0");
    EXPECT_EQ(cluster.answer("SELECT obj_description('\"field results\".next_stops'::regclass)"),
              "Places where one more stop is expected to correct most of the map; the settings state how many. Roads, "
              "slopes and fences are not considered.");
    EXPECT_THAT(
        cluster.answer("SELECT count(*) FROM pg_indexes WHERE schemaname = 'field results' AND indexdef LIKE '%gist%'"),
        "13");
    EXPECT_THAT(cluster.answer("SELECT string_agg(col_description(attrelid, attnum), ' ') FROM pg_attribute WHERE "
                               "attrelid = '\"field results\".stop_fit'::regclass"),
                HasSubstr("Distance to the nearest drawn contact, metres"));

    // A colleague's view and right to read outlive the next run; readers see all of the old or all of the new, and
    // never wait for long.
    ASSERT_TRUE(cluster.query(
        "CREATE ROLE colleague; GRANT SELECT ON \"field results\".stop_fit TO colleague;"
        "CREATE VIEW conflicts AS SELECT * FROM \"field results\".stop_fit WHERE verdict = 'conflicts';"));
    const std::string count =
        "SELECT (SELECT count(*) FROM \"field results\".stop_fit), (SELECT count(DISTINCT stop) FROM \"field "
        "results\".stop_evidence)";
    const std::string before = cluster.answer(count);
    test::write_survey(folder.path(), {.stops = 90});
    std::set<std::string> seen;
    std::atomic<bool> done{false};
    std::thread writer([&] {
        summary = run_survey(survey, {.report = false, .database = target}, silent);
        done = true;
    });
    while (!done) seen.insert(cluster.answer(count));
    writer.join();
    const std::string after = cluster.answer(count);
    EXPECT_NE(before, after);
    EXPECT_TRUE(after.starts_with("90|")) << after;
    seen.erase(before);
    seen.erase(after);
    EXPECT_TRUE(seen.empty()) << *seen.begin();
    compare_all();
    EXPECT_EQ(cluster.answer("SELECT has_table_privilege('colleague', '\"field results\".stop_fit', 'SELECT')"), "t");
    EXPECT_EQ(cluster.answer("SELECT count(*) FROM conflicts"),
              cluster.answer("SELECT count(*) FROM \"field results\".stop_fit WHERE verdict = 'conflicts'"));

    // A table that cannot be replaced leaves all as they were.
    ASSERT_TRUE(
        cluster.query("ALTER TABLE \"field results\".problems ADD COLUMN mine text;"
                      "CREATE VIEW mine AS SELECT mine FROM \"field results\".problems;"));
    test::write_survey(folder.path(), {.stops = 120});
    try {
        run_survey(survey, {.report = false, .database = target}, silent);
        FAIL();
    } catch (const Error& error) {
        EXPECT_THAT(error.what(), AllOf(HasSubstr("the table field results.problems cannot be replaced"),
                                        HasSubstr("Drop what depends on it (views)"), Not(HasSubstr("secret"))));
    }
    EXPECT_EQ(cluster.answer(count), after);
    EXPECT_EQ(cluster.answer("SELECT count(*) FROM pg_namespace WHERE nspname LIKE '%incoming%'"), "0");
    // Once nothing depends on it a table of other columns is made anew.
    ASSERT_TRUE(cluster.query("DROP VIEW mine;"));
    summary = run_survey(survey, {.report = false, .database = target}, silent);
    compare_all();
    EXPECT_EQ(cluster.answer("SELECT count(*) FROM \"field results\".stop_fit"), "120");
}

TEST(Database, RefusesWithAReasonAndWithoutThePassword) {
    const std::string absent = refusal({"PG:host=/nowhere-at-all dbname=a password=secret", "results"});
    EXPECT_THAT(absent,
                AllOf(HasSubstr("PG:host=/nowhere-at-all dbname=a password=...: the database cannot be opened ("),
                      HasSubstr("and that the server runs."), Not(HasSubstr("secret"))));
    EXPECT_THAT(refusal({"PG:dbname=a password=secret", "public"}),
                AllOf(HasSubstr("results are not written to a schema 'public'. Name one of their own with --schema"),
                      Not(HasSubstr("secret"))));
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("PostgreSQL");
    if (driver == nullptr) return;
    GetGDALDriverManager()->DeregisterDriver(driver);
    EXPECT_THAT(refusal({"PG:dbname=a password=secret", "results"}),
                AllOf(HasSubstr("this GDAL was built without PostgreSQL"), Not(HasSubstr("secret"))));
    GetGDALDriverManager()->RegisterDriver(driver);
}

}  // namespace
}  // namespace subcrop::publish
