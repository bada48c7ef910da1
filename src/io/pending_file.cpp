#include "io/pending_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <map>
#include <memory>
#include <mutex>
#include <ostream>
#include <streambuf>
#include <system_error>
#include <utility>
#include <vector>

#include "io/sqlite_file.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

constexpr std::array journals{"-journal", "-wal", "-shm"};

Error in_use(const fs::path& target) {
    return {file_place(target), "another run is writing this file",
            "Wait for it to end, or name another results folder."};
}

/// Of a link the link itself, never what it leads to.
void remove_with_journals(const fs::path& file) {
    std::error_code ignored;
    fs::remove(file, ignored);
    for (const char* suffix : journals) fs::remove(file.string() + suffix, ignored);
}

bool stands(const fs::path& path) {
    struct stat found {};
    return ::lstat(path.c_str(), &found) == 0;
}

/// Temporaries that would be left behind if the process ended now. Locked while files are put in place.
struct Unfinished {
    std::mutex mutex;
    std::vector<fs::path> files;
    bool some_in_place = false;
};

Unfinished& unfinished() {
    static Unfinished all;
    return all;
}

/// The caller holds the mutex.
void finished(const fs::path& file) { std::erase(unfinished().files, file); }

fs::path folder_of(const fs::path& file) { return file.has_parent_path() ? file.parent_path() : fs::path("."); }

fs::path temporary_of(const fs::path& target) {
    return fs::path(target).replace_extension(".partial" + target.extension().string());
}

/// Where the old main file waits while parts are exchanged.
fs::path waiting(const fs::path& temporary) { return temporary.string() + ".old"; }

/// Renames that are taken back unless they are kept.
class Moves {
public:
    Moves() = default;
    Moves(const Moves&) = delete;
    Moves& operator=(const Moves&) = delete;
    ~Moves() {
        for (auto move = done_.rbegin(); move != done_.rend(); ++move) {
            if (move->exchange)
                (void)::renameat2(AT_FDCWD, move->from.c_str(), AT_FDCWD, move->to.c_str(), RENAME_EXCHANGE);
            else
                (void)std::rename(move->to.c_str(), move->from.c_str());
        }
    }

    /// Afterwards `from` is the old file, where there was one and the file system can exchange names.
    void into_place(const fs::path& from, const fs::path& to) {
        struct stat old {};
        const bool there = ::lstat(to.c_str(), &old) == 0;
        if (there && S_ISDIR(old.st_mode)) {
            throw Error(file_place(to), "a folder of this name is in the way",
                        "Rename the folder, or name another results folder.");
        }
        if (there && ::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_EXCHANGE) == 0) {
            done_.push_back({from, to, true});
            return;
        }
        if (there && errno != EINVAL && errno != ENOSYS && errno != EOPNOTSUPP) fail(to);
        if (std::rename(from.c_str(), to.c_str()) != 0) fail(to);
        if (!there) done_.push_back({from, to, false});
    }
    void aside(const fs::path& from, const fs::path& to) {
        if (!stands(from)) return;
        if (std::rename(from.c_str(), to.c_str()) != 0) fail(from);
        done_.push_back({from, to, false});
    }
    void keep() { done_.clear(); }

private:
    struct Move {
        fs::path from, to;
        bool exchange;
    };
    [[noreturn]] static void fail(const fs::path& file) {
        throw write_failure(file, "it cannot be put in place", errno);
    }
    std::vector<Move> done_;
};

/// A stream into an open file. It is not opened by name again, because the name may be another file by then.
class DescriptorBuffer : public std::streambuf {
public:
    explicit DescriptorBuffer(int descriptor) : descriptor_(descriptor) {
        setp(bytes_.data(), bytes_.data() + bytes_.size());
    }
    int reason() const { return reason_; }

protected:
    int_type overflow(int_type c) override {
        if (sync() != 0) return traits_type::eof();
        if (!traits_type::eq_int_type(c, traits_type::eof())) sputc(traits_type::to_char_type(c));
        return traits_type::not_eof(c);
    }
    int sync() override {
        const char* at = pbase();
        while (reason_ == 0 && at != pptr()) {
            const ssize_t written = ::write(descriptor_, at, static_cast<std::size_t>(pptr() - at));
            if (written >= 0)
                at += written;
            else if (errno != EINTR)
                reason_ = errno;
        }
        setp(bytes_.data(), bytes_.data() + bytes_.size());
        return reason_ == 0 ? 0 : -1;
    }

private:
    int descriptor_;
    int reason_ = 0;
    std::array<char, std::size_t{1} << 16> bytes_;
};

}  // namespace

/// Two runs make or move files in a folder one after the other. Waits; on file systems without locks it does nothing.
class PendingFile::FolderLock {
public:
    explicit FolderLock(const fs::path& file)
        : descriptor_(::open(folder_of(file).c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
        if (descriptor_ >= 0) (void)::flock(descriptor_, LOCK_EX);
    }
    FolderLock(const FolderLock&) = delete;
    FolderLock& operator=(const FolderLock&) = delete;
    ~FolderLock() {
        if (descriptor_ >= 0) ::close(descriptor_);
    }
    /// Best effort: some file systems refuse it for folders.
    void sync() const {
        if (descriptor_ >= 0) ::fsync(descriptor_);
    }

private:
    int descriptor_;
};

PendingFile::PendingFile(fs::path target, std::vector<std::string> parts, std::vector<std::string> indexes)
    : target_(std::move(target)),
      temporary_(temporary_of(target_)),
      parts_(std::move(parts)),
      indexes_(std::move(indexes)) {
    std::error_code error;
    fs::create_directories(folder_of(target_), error);
    if (error) throw write_failure(target_, "its folder cannot be made", error.value());
    if (fs::is_directory(target_, error)) {
        throw Error(file_place(target_), "a folder of this name is in the way",
                    "Rename the folder, or name another results folder.");
    }
    // Held until the temporary is locked: a run that starts meanwhile must not take it for one that a killed run left.
    making_ = std::make_unique<FolderLock>(target_);
    const std::scoped_lock lock(unfinished().mutex);
    if (const int left = ::open(temporary_.c_str(), O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC); left >= 0) {
        const bool free = ::flock(left, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK;
        ::close(left);
        if (!free) throw in_use(target_);
    }
    const std::vector<fs::path> files = temporaries();
    for (const fs::path& file : files) remove_with_journals(file);
    // Creating it here tells a folder that cannot be written, and a full disk, in plainer words than GDAL would.
    descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (descriptor_ < 0 && errno == EEXIST) {
        throw Error(file_place(target_), "'" + temporary_.filename().string() + "' is in the way",
                    "Rename it, or name another results folder.");
    }
    if (descriptor_ < 0) throw write_failure(target_, "it cannot be created", errno);
    const int reason = reason_against_growth(descriptor_);
    remove_with_journals(temporary_);
    ::close(std::exchange(descriptor_, -1));
    if (reason != 0) throw write_failure(target_, "it cannot grow", reason);
    unfinished().files.insert(unfinished().files.end(), files.begin(), files.end());
    owned_ = true;
}

std::vector<fs::path> PendingFile::temporaries() const {
    std::vector<fs::path> files{temporary_};
    for (const auto* endings : {&parts_, &indexes_})
        for (const std::string& ending : *endings) files.push_back(fs::path(temporary_).replace_extension(ending));
    if (!parts_.empty()) files.push_back(waiting(temporary_));
    return files;
}

PendingFile::~PendingFile() {
    if (owned_) {
        const std::scoped_lock lock(unfinished().mutex);
        for (const fs::path& file : temporaries()) {
            remove_with_journals(file);
            finished(file);
        }
    }
    if (descriptor_ >= 0) ::close(descriptor_);
}

void PendingFile::write(const std::function<void(std::ostream&)>& fill) {
    {
        const std::scoped_lock lock(unfinished().mutex);
        descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    }
    if (descriptor_ < 0) throw write_failure(target_, "it cannot be created", errno);
    (void)::flock(descriptor_, LOCK_EX | LOCK_NB);  // made this moment: nobody else can hold it
    making_.reset();
    DescriptorBuffer buffer(descriptor_);
    std::ostream out(&buffer);
    fill(out);
    out.flush();
    if (!out) throw write_failure(target_, "it cannot be written", buffer.reason());
}

void PendingFile::lock() {
    descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_NOFOLLOW | O_CLOEXEC);
    if (descriptor_ < 0) throw write_failure(target_, "it cannot be created", errno);
    // File systems without locks do not return EWOULDBLOCK. There two runs cannot be distinguished.
    if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
        const std::scoped_lock lock(unfinished().mutex);
        for (const fs::path& file : temporaries()) finished(file);
        owned_ = false;
        throw in_use(target_);
    }
    making_.reset();
}

void PendingFile::start_writing_back() const {
    ::sync_file_range(descriptor_, 0, 0, SYNC_FILE_RANGE_WRITE);  // a hint: where it fails nothing is lost
}

void PendingFile::sync() const {
    if (::fsync(descriptor_) != 0) throw write_failure(target_, "it cannot be synced", errno);
    for (const std::string& part : parts_) {
        const int file =
            ::open(fs::path(temporary_).replace_extension(part).c_str(), O_RDONLY | O_NOFOLLOW | O_CLOEXEC);
        if (file < 0) continue;  // a part that there need not be
        const int failure = ::fsync(file) != 0 ? errno : 0;
        ::close(file);
        if (failure != 0) throw write_failure(target_, "it cannot be synced", failure);
    }
}

void PendingFile::put_in_place(const std::vector<PendingFile*>& files) {
    for (const PendingFile* file : files) file->sync();
    // Each folder once, by whatever name, and in the same order in every run: none waits for another in a circle.
    std::map<std::pair<dev_t, ino_t>, fs::path> folders;
    for (const PendingFile* file : files) {
        struct stat found {};
        if (::stat(folder_of(file->target_).c_str(), &found) == 0)
            folders.try_emplace({found.st_dev, found.st_ino}, file->target_);
    }
    std::vector<std::unique_ptr<FolderLock>> locks;
    for (const auto& [inode, file] : folders) locks.push_back(std::make_unique<FolderLock>(file));

    const std::scoped_lock lock(unfinished().mutex);
    Moves moves;
    for (const PendingFile* file : files) {
        const auto pair = [&](const std::string& ending) {
            return std::pair(fs::path(file->temporary_).replace_extension(ending),
                             fs::path(file->target_).replace_extension(ending));
        };
        // A journal left beside the old file would be rolled into the new one and ruin it.
        for (const char* suffix : journals)
            moves.aside(file->target_.string() + suffix, file->temporary_.string() + suffix);
        if (!file->parts_.empty()) moves.aside(file->target_, waiting(file->temporary_));
        for (const std::string& part : file->parts_) {
            const auto [from, to] = pair(part);
            if (stands(from))
                moves.into_place(from, to);
            else
                moves.aside(to, from);  // of the old target
        }
        for (const std::string& index : file->indexes_) {
            const auto [from, to] = pair(index);
            moves.aside(to, from);
        }
        moves.into_place(file->temporary_, file->target_);
    }
    moves.keep();
    unfinished().some_in_place = true;
    for (PendingFile* file : files) {
        file->owned_ = false;
        for (const fs::path& old : file->temporaries()) {
            remove_with_journals(old);
            finished(old);
        }
    }
    for (const auto& folder : locks) folder->sync();
}

void PendingFile::replace_target() { put_in_place({this}); }

void PendingFiles::take(std::unique_ptr<PendingFile> file) { files_.push_back(std::move(file)); }

void PendingFiles::write(const fs::path& target, const std::function<void(std::ostream&)>& fill) {
    auto file = std::make_unique<PendingFile>(target);
    file->write(fill);
    take(std::move(file));
}

void PendingFiles::put_in_place() {
    std::vector<PendingFile*> files;
    for (const auto& file : files_) files.push_back(file.get());
    PendingFile::put_in_place(files);
    files_.clear();
}

void write_whole(const fs::path& target, const std::function<void(std::ostream&)>& fill) {
    PendingFile file(target);
    file.write(fill);
    file.replace_target();
}

std::vector<fs::path> files_written_for(const fs::path& target, const std::vector<std::string>& parts,
                                        const std::vector<std::string>& indexes) {
    std::vector<fs::path> files;
    for (const fs::path& main : {target, temporary_of(target)}) {
        files.push_back(main);
        for (const char* suffix : journals) files.push_back(main.string() + suffix);
        for (const auto* endings : {&parts, &indexes})
            for (const std::string& ending : *endings) files.push_back(fs::path(main).replace_extension(ending));
    }
    return files;
}

bool remove_pending_files() {
    unfinished().mutex.lock();  // for good: nothing more may be made in what little time is left
    for (const fs::path& file : unfinished().files) remove_with_journals(file);
    unfinished().files.clear();
    return unfinished().some_in_place;
}

}  // namespace subcrop::io
