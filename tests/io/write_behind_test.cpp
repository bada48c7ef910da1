#include "io/write_behind.hpp"

#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "support/bytes_of.hpp"

namespace subcrop::io {
namespace {

namespace fs = std::filesystem;

struct Database {
    sqlite3* handle = nullptr;
    Database(const fs::path& file, const char* vfs) {
        EXPECT_EQ(sqlite3_open_v2(file.c_str(), &handle, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, vfs), SQLITE_OK);
        // A cache of ten pages: most are written early and some are read again.
        EXPECT_EQ(
            run("PRAGMA page_size = 4096; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA cache_size = 10"),
            SQLITE_OK);
    }
    ~Database() { sqlite3_close(handle); }
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;
    int run(const char* sql) const { return sqlite3_exec(handle, sql, nullptr, nullptr, nullptr); }
};

const char* const rows_sql =
    "BEGIN; CREATE TABLE t (id INTEGER PRIMARY KEY, words TEXT); CREATE INDEX by_words ON t (words);"
    "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 20000) "
    "INSERT INTO t SELECT i, 'stop ' || (i * 7919 % 20011) FROM n;"
    "UPDATE t SET words = words || ' again' WHERE id % 3 = 0; DELETE FROM t WHERE id % 7 = 0; COMMIT";

class WriteBehind : public testing::Test {
protected:
    fs::path folder = fs::temp_directory_path() / ("write_behind_" + std::to_string(getpid()));
    void SetUp() override { fs::create_directories(folder); }
    void TearDown() override { fs::remove_all(folder); }
};

TEST_F(WriteBehind, WritesWhatSqliteItselfWrites) {
    {
        const Database plain(folder / "plain.db", nullptr), behind(folder / "behind.db", write_behind_vfs());
        ASSERT_EQ(plain.run(rows_sql), SQLITE_OK);
        ASSERT_EQ(behind.run(rows_sql), SQLITE_OK);
        EXPECT_EQ(finish_writing(behind.handle), SQLITE_OK);
        EXPECT_EQ(finish_writing(plain.handle), SQLITE_OK) << "a database of another VFS has nothing to wait for";
        EXPECT_GT(fs::file_size(folder / "behind.db"), 500'000U) << "all is in the file before it is closed";
    }
    EXPECT_EQ(bytes_of(folder / "behind.db"), bytes_of(folder / "plain.db"));
}

TEST_F(WriteBehind, TellsOfAWriteThatFailed) {
    const Database database(folder / "limited.db", write_behind_vfs());
    ASSERT_EQ(database.run("CREATE TABLE empty (a)"), SQLITE_OK);
    const auto before = std::signal(SIGXFSZ, SIG_IGN);
    rlimit usual{};
    getrlimit(RLIMIT_FSIZE, &usual);
    const rlimit small{200'000, usual.rlim_max};
    setrlimit(RLIMIT_FSIZE, &small);
    int code = database.run(rows_sql);
    if (code == SQLITE_OK) code = finish_writing(database.handle);
    setrlimit(RLIMIT_FSIZE, &usual);
    std::signal(SIGXFSZ, before);
    EXPECT_TRUE(code == SQLITE_FULL || (code & 0xFF) == SQLITE_IOERR) << code;
    EXPECT_NE(finish_writing(database.handle), SQLITE_OK) << "it stays told";
}

}  // namespace
}  // namespace subcrop::io
