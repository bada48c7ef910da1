// A VFS of SQLite's (sqlite.org/vfs.html) that writes files by a thread of its own. Copying the half gigabyte of a
// large result into the system's cache takes a second, in which rows can go on being inserted. Reading waits until all
// is written.
#pragma once

#include <sqlite3.h>

namespace subcrop::io {

/// The name under which SQLite knows it, for `sqlite3_open_v2`.
const char* write_behind_vfs();

/// Waits until the system has everything written to an open database so far. Gives SQLite's code of the first write
/// that failed, with its reason in errno, else SQLITE_OK.
int finish_writing(sqlite3* database);

}  // namespace subcrop::io
