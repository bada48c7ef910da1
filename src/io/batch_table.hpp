// The rows of a batch as a table that SQL reads, so that one statement inserts them all instead of one call a value and
// one a row: 0.9 s of the writing thread's time on a million stops instead of 1.5. See sqlite.org/vtab.html.
#pragma once

#include <sqlite3.h>

#include <cstddef>
#include <memory>

#include "subcrop/io/layer_writer.hpp"

namespace subcrop::io {

class BatchTable {
public:
    /// Gives a connection the table `batch` with columns c0, c1, ...; its rowid runs from 0. It must not outlive the
    /// connection.
    BatchTable(sqlite3* database, std::size_t max_columns);
    ~BatchTable();

    /// What the table shows from now on; each row has `columns` values. The batch must stay as it is while statements
    /// read it.
    void show(const RowBatch& batch, std::size_t columns);

    struct State;

private:
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::io
