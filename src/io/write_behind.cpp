#include "io/write_behind.hpp"

#include <cerrno>
#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <memory>
#include <mutex>
#include <new>
#include <thread>
#include <utility>
#include <vector>

namespace subcrop::io {

namespace {

/// Our own request of a file, besides SQLite's, which are below 100.
constexpr int finish_request = 0x5C09;

/// What SQLite writes is gathered in pieces of consecutive bytes. SQLite itself never writes more at once, and the VFS
/// below may not be able to.
constexpr std::size_t piece_bytes = std::size_t{1} << 16;
/// Pieces that may wait for the thread before SQLite does.
constexpr std::size_t max_waiting = 128;

class Writer {
public:
    explicit Writer(sqlite3_file& file) : file_(file), thread_([this] { work(); }) {}
    ~Writer() {
        finish();
        {
            const std::scoped_lock lock(mutex_);
            closing_ = true;
        }
        changed_.notify_all();
        thread_.join();
    }
    Writer(const Writer&) = delete;
    Writer& operator=(const Writer&) = delete;

    /// Both by one thread at a time, as SQLite calls them. The answer may be of an earlier write.
    int write(const char* bytes, std::size_t count, sqlite3_int64 offset) {
        const bool follows = offset == filling_.offset + static_cast<sqlite3_int64>(filling_.bytes.size());
        if (!filling_.bytes.empty() && (!follows || filling_.bytes.size() + count > piece_bytes)) {
            if (const int code = hand_over(); code != SQLITE_OK) return code;
        }
        if (filling_.bytes.empty()) filling_.offset = offset;
        filling_.bytes.insert(filling_.bytes.end(), bytes, bytes + count);
        return SQLITE_OK;
    }
    int finish() {
        if (!filling_.bytes.empty()) hand_over();
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [this] { return waiting_.empty() && !writing_; });
        return failure();
    }

private:
    struct Piece {
        sqlite3_int64 offset = 0;
        std::vector<char> bytes;
    };

    int hand_over() {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [this] { return waiting_.size() < max_waiting; });
        waiting_.push_back(std::exchange(filling_, std::move(spare_)));
        spare_ = {};
        filling_.bytes.clear();
        changed_.notify_all();
        return failure();
    }
    int failure() const {
        if (code_ != SQLITE_OK) errno = system_error_;  // where SQLite looks for the reason
        return code_;
    }
    void work() {
        std::unique_lock lock(mutex_);
        for (;;) {
            changed_.wait(lock, [this] { return closing_ || !waiting_.empty(); });
            if (waiting_.empty()) return;
            Piece piece = std::move(waiting_.front());
            waiting_.pop_front();
            writing_ = true;
            const bool lost = code_ != SQLITE_OK;  // what follows a failed write is of no use
            lock.unlock();
            errno = 0;
            const int code = lost ? SQLITE_OK
                                  : file_.pMethods->xWrite(&file_, piece.bytes.data(),
                                                           static_cast<int>(piece.bytes.size()), piece.offset);
            const int reason = errno;
            lock.lock();
            writing_ = false;
            if (code != SQLITE_OK) {
                code_ = code;
                system_error_ = reason;
            }
            spare_ = std::move(piece);
            changed_.notify_all();
        }
    }

    sqlite3_file& file_;
    Piece filling_;
    std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<Piece> waiting_;
    Piece spare_;  ///< its memory is taken again
    bool writing_ = false, closing_ = false;
    int code_ = SQLITE_OK, system_error_ = 0;
    std::thread thread_;
};

/// SQLite leaves room behind it for the file of the VFS below.
struct File {
    sqlite3_file base;               // first: SQLite knows the file by it
    std::unique_ptr<Writer> writer;  ///< null if no thread could be started; then SQLite writes itself
};

constexpr std::size_t own_bytes =
    (sizeof(File) + alignof(std::max_align_t) - 1) / alignof(std::max_align_t) * alignof(std::max_align_t);

File& own(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }
sqlite3_file& below(sqlite3_file* file) {
    return *reinterpret_cast<sqlite3_file*>(reinterpret_cast<char*>(file) + own_bytes);
}
sqlite3_vfs& below(sqlite3_vfs* vfs) { return *static_cast<sqlite3_vfs*>(vfs->pAppData); }

/// Hands a call to the VFS or file below, as it is or once all is written.
template <auto Method>
struct Pass;

template <class Result, class... Rest, Result (*sqlite3_vfs::*Method)(sqlite3_vfs*, Rest...)>
struct Pass<Method> {
    static Result on(sqlite3_vfs* vfs, Rest... rest) { return (below(vfs).*Method)(&below(vfs), rest...); }
};

template <class... Rest, int (*sqlite3_io_methods::*Method)(sqlite3_file*, Rest...)>
struct Pass<Method> {
    static int on(sqlite3_file* file, Rest... rest) { return (below(file).pMethods->*Method)(&below(file), rest...); }
    static int once_written(sqlite3_file* file, Rest... rest) {
        if (const int code = own(file).writer ? own(file).writer->finish() : SQLITE_OK; code != SQLITE_OK) return code;
        return on(file, rest...);
    }
};

int write(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 offset) {
    Writer* writer = own(file).writer.get();
    if (writer == nullptr) return Pass<&sqlite3_io_methods::xWrite>::on(file, bytes, count, offset);
    try {
        return writer->write(static_cast<const char*>(bytes), static_cast<std::size_t>(count), offset);
    } catch (const std::bad_alloc&) {
        return SQLITE_IOERR_NOMEM;
    }
}

int control(sqlite3_file* file, int request, void* with) {
    if (request == finish_request) return own(file).writer ? own(file).writer->finish() : SQLITE_OK;
    return Pass<&sqlite3_io_methods::xFileControl>::on(file, request, with);
}

int close(sqlite3_file* file) {
    own(file).~File();
    return Pass<&sqlite3_io_methods::xClose>::on(file);
}

// Version 1: without shared memory and memory maps, which would read past the thread.
constexpr sqlite3_io_methods file_methods = {
    .iVersion = 1,
    .xClose = close,
    .xRead = Pass<&sqlite3_io_methods::xRead>::once_written,
    .xWrite = write,
    .xTruncate = Pass<&sqlite3_io_methods::xTruncate>::once_written,
    .xSync = Pass<&sqlite3_io_methods::xSync>::once_written,
    .xFileSize = Pass<&sqlite3_io_methods::xFileSize>::once_written,
    .xLock = Pass<&sqlite3_io_methods::xLock>::on,
    .xUnlock = Pass<&sqlite3_io_methods::xUnlock>::on,
    .xCheckReservedLock = Pass<&sqlite3_io_methods::xCheckReservedLock>::on,
    .xFileControl = control,
    .xSectorSize = Pass<&sqlite3_io_methods::xSectorSize>::on,
    .xDeviceCharacteristics = Pass<&sqlite3_io_methods::xDeviceCharacteristics>::on,
    .xShmMap = nullptr,
    .xShmLock = nullptr,
    .xShmBarrier = nullptr,
    .xShmUnmap = nullptr,
    .xFetch = nullptr,
    .xUnfetch = nullptr};

int open(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* flags_out) {
    if ((flags & SQLITE_OPEN_MAIN_DB) == 0) return below(vfs).xOpen(&below(vfs), name, file, flags, flags_out);
    file->pMethods = nullptr;
    const int code = below(vfs).xOpen(&below(vfs), name, &below(file), flags, flags_out);
    if (code != SQLITE_OK) {
        if (below(file).pMethods != nullptr) below(file).pMethods->xClose(&below(file));
        return code;
    }
    File* made = new (file) File{{&file_methods}, nullptr};
    try {
        made->writer = std::make_unique<Writer>(below(file));
    } catch (const std::exception&) {  // no thread or no memory: it goes without
    }
    return SQLITE_OK;
}

const sqlite3_vfs& made_known() {
    static sqlite3_vfs vfs = [] {
        sqlite3_vfs* plain = sqlite3_vfs_find(nullptr);
        sqlite3_vfs made{};
        made.iVersion = 1;
        made.szOsFile = static_cast<int>(own_bytes) + plain->szOsFile;
        made.mxPathname = plain->mxPathname;
        made.zName = "subcrop write behind";
        made.pAppData = plain;
        made.xOpen = open;
        made.xDelete = Pass<&sqlite3_vfs::xDelete>::on;
        made.xAccess = Pass<&sqlite3_vfs::xAccess>::on;
        made.xFullPathname = Pass<&sqlite3_vfs::xFullPathname>::on;
        made.xDlOpen = Pass<&sqlite3_vfs::xDlOpen>::on;
        made.xDlError = Pass<&sqlite3_vfs::xDlError>::on;
        made.xDlSym = Pass<&sqlite3_vfs::xDlSym>::on;
        made.xDlClose = Pass<&sqlite3_vfs::xDlClose>::on;
        made.xRandomness = Pass<&sqlite3_vfs::xRandomness>::on;
        made.xSleep = Pass<&sqlite3_vfs::xSleep>::on;
        made.xCurrentTime = Pass<&sqlite3_vfs::xCurrentTime>::on;
        made.xGetLastError = Pass<&sqlite3_vfs::xGetLastError>::on;
        return made;
    }();
    sqlite3_vfs_register(&vfs, 0);
    return vfs;
}

}  // namespace

const char* write_behind_vfs() {
    static const sqlite3_vfs& vfs = made_known();
    return vfs.zName;
}

int finish_writing(sqlite3* database) {
    const int code = sqlite3_file_control(database, "main", finish_request, nullptr);
    return code == SQLITE_NOTFOUND ? SQLITE_OK : code;
}

}  // namespace subcrop::io
