#include "io/decision_file.hpp"

#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>

#include "io/scratch_survey.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {
namespace {

namespace fs = std::filesystem;

const std::string crs = geo::Crs("EPSG:32631").wkt();

DecisionRow decided(const std::string& id, const std::string& decision) {
    DecisionRow row;
    row.id = id;
    row.kind = "contact moves";
    row.what = "Move the contact.";
    row.decision = decision;
    row.ground = {{.shell = {{0, 0}, {100, 0}, {100, 100}, {0, 0}}, .holes = {}}};
    return row;
}

/// Copies the file as it is in the middle of a change: what a program leaves that is killed then. SQLite's description
/// of a hot journal: https://www.sqlite.org/fileformat2.html#the_rollback_journal (from memory).
void copy_in_the_middle_of_a_change(const fs::path& file, const fs::path& copy) {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file.c_str(), &database), SQLITE_OK);
    const char* change =
        "PRAGMA synchronous = OFF; PRAGMA cache_size = 1; BEGIN IMMEDIATE;"
        "CREATE TABLE half_written (a); INSERT INTO half_written WITH RECURSIVE n(i) AS"
        "(SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 5000) SELECT hex(randomblob(50)) FROM n;";
    ASSERT_EQ(sqlite3_exec(database, change, nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(database);
    ASSERT_GT(fs::file_size(file.string() + "-journal"), 0U);
    fs::copy_file(file, copy);
    fs::copy_file(file.string() + "-journal", copy.string() + "-journal");
    sqlite3_exec(database, "ROLLBACK", nullptr, nullptr, nullptr);
    sqlite3_close(database);
}

TEST(DecisionFile, AWriterKilledInTheMiddleLeavesReadableDecisions) {
    const ScratchFolder folder;
    const fs::path file = folder.path() / "decisions.gpkg", left = folder.path() / "left.gpkg";
    write_decisions(file, crs, {decided("M1", "accepted"), decided("M2", "later")});
    copy_in_the_middle_of_a_change(file, left);

    ProblemLog problems;
    const std::vector<DecisionRow> rows = read_decisions(left, decisions_layer, crs, problems);
    ASSERT_EQ(rows.size(), 2U);
    EXPECT_EQ(rows[0].decision, "accepted");
    EXPECT_EQ(rows[1].decision, "later");
    EXPECT_EQ(fs::file_size(left), fs::file_size(file));
    EXPECT_FALSE(fs::exists(left.string() + "-journal"));
}

}  // namespace
}  // namespace subcrop::io
