#include "io/batch_table.hpp"

#include <cassert>
#include <new>
#include <string>

namespace subcrop::io {

struct BatchTable::State {
    std::size_t max_columns = 0;
    const RowBatch* batch = nullptr;
    std::size_t columns = 0;

    std::size_t rows() const { return batch != nullptr ? batch->rows_ : 0; }
    void give(std::size_t row, std::size_t column, sqlite3_context* to) const {
        if (column >= columns) return;
        using Kind = RowBatch::Kind;
        const RowBatch::Cell& cell = batch->cells_[row * columns + column];
        const char* bytes = batch->bytes_.data() + cell.offset;
        switch (cell.kind) {
            case Kind::absent:
                break;
            case Kind::integer:
                sqlite3_result_int64(to, cell.integer);
                break;
            case Kind::real:
                sqlite3_result_double(to, cell.real);
                break;
            case Kind::text:
                sqlite3_result_text(to, bytes, static_cast<int>(cell.length), SQLITE_STATIC);
                break;
            case Kind::geometry:
                sqlite3_result_blob(to, bytes, static_cast<int>(cell.length), SQLITE_STATIC);
                break;
        }
    }
};

namespace {

struct Table {
    sqlite3_vtab base;  // first: SQLite knows the table by it
    const BatchTable::State* state;
};

struct Cursor {
    sqlite3_vtab_cursor base;
    const BatchTable::State* state;
    std::size_t row;
};

Cursor& cursor_of(sqlite3_vtab_cursor* cursor) { return *reinterpret_cast<Cursor*>(cursor); }

int connect(sqlite3* database, void* state, int, const char* const*, sqlite3_vtab** table, char**) {
    const auto& shared = *static_cast<const BatchTable::State*>(state);
    std::string sql = "CREATE TABLE batch (c0";
    for (std::size_t i = 1; i < shared.max_columns; ++i) sql += ", c" + std::to_string(i);
    if (const int code = sqlite3_declare_vtab(database, (sql + ')').c_str()); code != SQLITE_OK) return code;
    auto* made = new (std::nothrow) Table{{}, &shared};
    if (made == nullptr) return SQLITE_NOMEM;
    *table = &made->base;
    return SQLITE_OK;
}

int disconnect(sqlite3_vtab* table) {
    delete reinterpret_cast<Table*>(table);
    return SQLITE_OK;
}

int best_index(sqlite3_vtab*, sqlite3_index_info* info) {
    info->estimatedCost = 1;
    return SQLITE_OK;
}

int open(sqlite3_vtab* table, sqlite3_vtab_cursor** cursor) {
    auto* made = new (std::nothrow) Cursor{{}, reinterpret_cast<Table*>(table)->state, 0};
    if (made == nullptr) return SQLITE_NOMEM;
    *cursor = &made->base;
    return SQLITE_OK;
}

int close(sqlite3_vtab_cursor* cursor) {
    delete &cursor_of(cursor);
    return SQLITE_OK;
}

int filter(sqlite3_vtab_cursor* cursor, int, const char*, int, sqlite3_value**) {
    cursor_of(cursor).row = 0;
    return SQLITE_OK;
}

int next(sqlite3_vtab_cursor* cursor) {
    ++cursor_of(cursor).row;
    return SQLITE_OK;
}

int at_end(sqlite3_vtab_cursor* cursor) { return cursor_of(cursor).row >= cursor_of(cursor).state->rows() ? 1 : 0; }

int value(sqlite3_vtab_cursor* cursor, sqlite3_context* to, int column) {
    cursor_of(cursor).state->give(cursor_of(cursor).row, static_cast<std::size_t>(column), to);
    return SQLITE_OK;
}

int row_id(sqlite3_vtab_cursor* cursor, sqlite3_int64* id) {
    *id = static_cast<sqlite3_int64>(cursor_of(cursor).row);
    return SQLITE_OK;
}

// Without xCreate the table is there by the module's own name.
constexpr sqlite3_module batch_module = {.iVersion = 0,
                                         .xCreate = nullptr,
                                         .xConnect = connect,
                                         .xBestIndex = best_index,
                                         .xDisconnect = disconnect,
                                         .xDestroy = nullptr,
                                         .xOpen = open,
                                         .xClose = close,
                                         .xFilter = filter,
                                         .xNext = next,
                                         .xEof = at_end,
                                         .xColumn = value,
                                         .xRowid = row_id,
                                         .xUpdate = nullptr,
                                         .xBegin = nullptr,
                                         .xSync = nullptr,
                                         .xCommit = nullptr,
                                         .xRollback = nullptr,
                                         .xFindFunction = nullptr,
                                         .xRename = nullptr,
                                         .xSavepoint = nullptr,
                                         .xRelease = nullptr,
                                         .xRollbackTo = nullptr,
                                         .xShadowName = nullptr};

}  // namespace

BatchTable::BatchTable(sqlite3* database, std::size_t max_columns) : state_(std::make_unique<State>()) {
    assert(max_columns > 0);
    state_->max_columns = max_columns;
    sqlite3_create_module(database, "batch", &batch_module, state_.get());
}

BatchTable::~BatchTable() = default;

void BatchTable::show(const RowBatch& batch, std::size_t columns) {
    state_->batch = &batch;
    state_->columns = columns;
}

}  // namespace subcrop::io
