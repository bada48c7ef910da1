// A thin hold on SQLite: handles that close themselves and errors as Error.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "subcrop/core/error.hpp"
#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// The place of an error about a file as a whole.
inline Place file_place(const std::filesystem::path& file) { return {file.string(), {}, {}, {}}; }

/// What a failed write means to a person. `system_error` is an errno, 0 when unknown.
Error write_failure(const std::filesystem::path& shown, const std::string& detail, int system_error, bool full = false);

/// Why a file cannot grow by a little, as an errno; 0 where it can.
int reason_against_growth(int descriptor);

class SqliteStatement {
public:
    SqliteStatement() = default;

    SqliteStatement& bind(int index, std::int64_t value);
    SqliteStatement& bind(int index, double value);
    /// The text must outlive the next `run`.
    SqliteStatement& bind(int index, std::string_view value);
    SqliteStatement& bind_blob(int index, std::string_view value);
    SqliteStatement& bind_null(int index);
    /// Steps to the end and resets; bindings stay.
    void run();
    /// Steps once: true while there is a row.
    bool step();
    std::string text(int column) const;
    std::int64_t integer(int column) const;

private:
    friend class SqliteFile;
    struct Finalize {
        void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
    };
    [[noreturn]] void fail() const;
    std::unique_ptr<sqlite3_stmt, Finalize> statement_;
    const std::filesystem::path* shown_ = nullptr;
};

/// One open database, for one thread at a time.
class SqliteFile {
public:
    /// `shown` is the path that error messages name.
    SqliteFile(const std::filesystem::path& path, std::filesystem::path shown);

    void run(const std::string& sql);
    SqliteStatement prepare(const std::string& sql);
    sqlite3* handle() const { return database_.get(); }
    /// Throws Error where closing fails.
    void close();

private:
    [[noreturn]] void fail() const;
    struct Close {
        void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
    };
    std::filesystem::path shown_;
    std::unique_ptr<sqlite3, Close> database_;
};

/// `name` as an SQL identifier.
std::string quoted_name(std::string_view name);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
