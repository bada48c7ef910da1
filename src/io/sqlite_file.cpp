#include "io/sqlite_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "io/write_behind.hpp"

namespace subcrop::io {

namespace {

/// SQLite keeps the system's reason of a failed write only now and then.
int reason_against_growth_of(const char* file) {
    const int descriptor = file != nullptr ? ::open(file, O_WRONLY | O_CLOEXEC) : -1;
    if (descriptor < 0) return 0;
    const int reason = reason_against_growth(descriptor);
    ::close(descriptor);
    return reason;
}

Error failure_of(sqlite3* database, const std::filesystem::path& shown) {
    const int code = sqlite3_errcode(database);
    const std::string detail = sqlite3_errmsg(database);
    int reason = sqlite3_system_errno(database);
    if (code == SQLITE_IOERR && reason == 0) reason = reason_against_growth_of(sqlite3_db_filename(database, "main"));
    return write_failure(shown, detail, reason, code == SQLITE_FULL);
}

}  // namespace

Error write_failure(const std::filesystem::path& shown, const std::string& detail, int system_error, bool full) {
    const Place place = file_place(shown);
    switch (system_error) {
        case ENOSPC:
        case EDQUOT:
        case EFBIG:
            full = true;
            break;
        case ENOTDIR:
        case EEXIST:
            return {place, "its folder cannot be made, since a file stands where a folder of its path should be",
                    "Name another results folder."};
        case EACCES:
        case EPERM:
        case EROFS:
            return {place, "the folder cannot be written (" + std::string(std::strerror(system_error)) + ")",
                    "Name a folder that you may write to."};
        default:
            break;
    }
    if (full) {
        return {place, "the disk is full, or the file is larger than is allowed here",
                "Make room, or name a results folder on another disk. An older file of this name is as it was."};
    }
    std::string message = "the file cannot be written (" + detail;
    if (system_error != 0) message += ": " + std::string(std::strerror(system_error));
    return {place, message + ')', "Check the folder and its disk. An older file of this name is as it was."};
}

int reason_against_growth(int descriptor) {
    constexpr off_t little = 1 << 20;  // more than an empty GeoPackage takes
    struct stat now {};
    if (::fstat(descriptor, &now) != 0) return errno;
    return ::posix_fallocate(descriptor, now.st_size, little);
}

SqliteStatement& SqliteStatement::bind(int index, std::int64_t value) {
    sqlite3_bind_int64(statement_.get(), index, value);
    return *this;
}

SqliteStatement& SqliteStatement::bind(int index, double value) {
    sqlite3_bind_double(statement_.get(), index, value);
    return *this;
}

SqliteStatement& SqliteStatement::bind(int index, std::string_view value) {
    sqlite3_bind_text(statement_.get(), index, value.data() != nullptr ? value.data() : "",
                      static_cast<int>(value.size()), SQLITE_STATIC);
    return *this;
}

SqliteStatement& SqliteStatement::bind_blob(int index, std::string_view value) {
    sqlite3_bind_blob(statement_.get(), index, value.data(), static_cast<int>(value.size()), SQLITE_STATIC);
    return *this;
}

SqliteStatement& SqliteStatement::bind_null(int index) {
    sqlite3_bind_null(statement_.get(), index);
    return *this;
}

void SqliteStatement::run() {
    while (step()) {
    }
    sqlite3_reset(statement_.get());
}

bool SqliteStatement::step() {
    const int code = sqlite3_step(statement_.get());
    if (code == SQLITE_ROW) return true;
    if (code != SQLITE_DONE) fail();
    return false;
}

std::string SqliteStatement::text(int column) const {
    const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(statement_.get(), column));
    return bytes != nullptr ? bytes : "";
}

std::int64_t SqliteStatement::integer(int column) const { return sqlite3_column_int64(statement_.get(), column); }

void SqliteStatement::fail() const { throw failure_of(sqlite3_db_handle(statement_.get()), *shown_); }

SqliteFile::SqliteFile(const std::filesystem::path& path, std::filesystem::path shown) : shown_(std::move(shown)) {
    sqlite3* database = nullptr;
    const int code =
        sqlite3_open_v2(path.c_str(), &database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, write_behind_vfs());
    database_.reset(database);
    if (code != SQLITE_OK) fail();
}

void SqliteFile::run(const std::string& sql) {
    if (sqlite3_exec(database_.get(), sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) fail();
}

SqliteStatement SqliteFile::prepare(const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database_.get(), sql.c_str(), static_cast<int>(sql.size()), &statement, nullptr) !=
        SQLITE_OK)
        fail();
    SqliteStatement result;
    result.statement_.reset(statement);
    result.shown_ = &shown_;
    return result;
}

void SqliteFile::close() {
    if (!database_) return;
    if (const int code = finish_writing(database_.get()); code != SQLITE_OK)
        throw write_failure(shown_, sqlite3_errstr(code), errno, code == SQLITE_FULL);
    if (sqlite3_close(database_.get()) != SQLITE_OK) fail();
    (void)database_.release();
}

void SqliteFile::fail() const { throw failure_of(database_.get(), shown_); }

std::string quoted_name(std::string_view name) {
    std::string result = "\"";
    for (const char c : name) {
        if (c == '"') result += '"';
        result += c;
    }
    return result + '"';
}

}  // namespace subcrop::io
