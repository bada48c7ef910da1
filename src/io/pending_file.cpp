#include "io/pending_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <memory>
#include <mutex>
#include <system_error>
#include <utility>
#include <vector>

#include "io/sqlite_file.hpp"

namespace subcrop::io {

namespace {

Error in_use(const std::filesystem::path& target) {
    return {file_place(target), "another run is writing this file",
            "Wait for it to end, or name another results folder."};
}

void remove_with_journals(const std::filesystem::path& file) {
    std::error_code ignored;
    std::filesystem::remove(file, ignored);
    for (const char* suffix : {"-journal", "-wal", "-shm"}) std::filesystem::remove(file.string() + suffix, ignored);
}

/// Temporaries that would be left behind if the process ended now. Locked while one of them is put in place.
struct Unfinished {
    std::mutex mutex;
    std::vector<std::filesystem::path> files;
};

Unfinished& unfinished() {
    static Unfinished all;
    return all;
}

/// The caller holds the mutex.
void finished(const std::filesystem::path& file) { std::erase(unfinished().files, file); }

std::filesystem::path folder_of(const std::filesystem::path& file) {
    return file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
}

}  // namespace

/// Two runs make or move files in a folder one after the other. Waits; on file systems without locks it does nothing.
class PendingFile::FolderLock {
public:
    explicit FolderLock(const std::filesystem::path& file)
        : descriptor_(::open(folder_of(file).c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
        if (descriptor_ >= 0) (void)::flock(descriptor_, LOCK_EX);
    }
    FolderLock(const FolderLock&) = delete;
    FolderLock& operator=(const FolderLock&) = delete;
    ~FolderLock() {
        if (descriptor_ >= 0) ::close(descriptor_);
    }

private:
    int descriptor_;
};

PendingFile::PendingFile(std::filesystem::path target, std::vector<std::string> parts) : target_(std::move(target)), parts_(std::move(parts)) {
    temporary_ = target_;
    temporary_.replace_extension(".partial" + target_.extension().string());

    std::error_code error;
    std::filesystem::create_directories(folder_of(target_), error);
    if (error) throw write_failure(target_, "its folder cannot be made", error.value());
    if (std::filesystem::is_directory(target_, error)) {
        throw Error(file_place(target_), "a folder of this name is in the way",
                    "Rename the folder, or name another results folder.");
    }
    // Held until the temporary is locked: a run that starts meanwhile must not take it for one that a killed run left.
    making_ = std::make_unique<FolderLock>(target_);
    const std::scoped_lock lock(unfinished().mutex);
    // Creating it here tells a folder that cannot be written, and a full disk, in plainer words than GDAL would.
    descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (descriptor_ < 0) throw write_failure(target_, "it cannot be created", errno);
    const bool free = ::flock(descriptor_, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK;
    const int reason = free ? reason_against_growth(descriptor_) : 0;
    const std::vector<std::filesystem::path> files = temporaries();
    if (free) {
        for (const std::filesystem::path& file : files) remove_with_journals(file);
    }
    ::close(std::exchange(descriptor_, -1));
    if (!free) throw in_use(target_);
    if (reason != 0) throw write_failure(target_, "it cannot grow", reason);
    unfinished().files.insert(unfinished().files.end(), files.begin(), files.end());
    owned_ = true;
}

std::vector<std::filesystem::path> PendingFile::temporaries() const {
    std::vector<std::filesystem::path> files{temporary_};
    for (const std::string& part : parts_) files.push_back(std::filesystem::path(temporary_).replace_extension(part));
    return files;
}

PendingFile::~PendingFile() {
    if (owned_) {
        const std::scoped_lock lock(unfinished().mutex);
        for (const std::filesystem::path& file : temporaries()) {
            remove_with_journals(file);
            finished(file);
        }
    }
    if (descriptor_ >= 0) ::close(descriptor_);
}

std::ofstream PendingFile::open() {
    const std::scoped_lock lock(unfinished().mutex);
    std::ofstream out(temporary_, std::ios::binary | std::ios::trunc);
    if (!out) throw write_failure(target_, "it cannot be created", errno);
    return out;
}

void PendingFile::lock() {
    descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_CLOEXEC);
    if (descriptor_ < 0) throw write_failure(target_, "it cannot be created", errno);
    // File systems without locks answer otherwise than EWOULDBLOCK: there two runs are not told apart.
    if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
        const std::scoped_lock lock(unfinished().mutex);
        for (const std::filesystem::path& file : temporaries()) finished(file);
        owned_ = false;
        throw in_use(target_);
    }
    making_.reset();
}

void PendingFile::start_writing_back() const {
    ::sync_file_range(descriptor_, 0, 0, SYNC_FILE_RANGE_WRITE);  // a hint: where it fails nothing is lost
}

void PendingFile::replace_target() {
    if (::fsync(descriptor_) != 0) throw write_failure(target_, "it cannot be synced", errno);
    for (const std::string& part : parts_) {
        const int file = ::open(std::filesystem::path(temporary_).replace_extension(part).c_str(), O_RDONLY | O_CLOEXEC);
        if (file < 0) continue;  // a part that there need not be
        const int failure = ::fsync(file) != 0 ? errno : 0;
        ::close(file);
        if (failure != 0) throw write_failure(target_, "it cannot be synced", failure);
    }
    const FolderLock moving(target_);
    const std::scoped_lock lock(unfinished().mutex);
    // A journal left beside the old file would be rolled into the new one and ruin it.
    std::error_code ignored;
    for (const char* suffix : {"-journal", "-wal", "-shm"}) std::filesystem::remove(target_.string() + suffix, ignored);
    if (!parts_.empty()) std::filesystem::remove(target_, ignored);
    for (const std::string& part : parts_) {
        const std::filesystem::path from = std::filesystem::path(temporary_).replace_extension(part);
        const std::filesystem::path to = std::filesystem::path(target_).replace_extension(part);
        if (!std::filesystem::exists(from, ignored)) std::filesystem::remove(to, ignored);  // of the old target
        else if (std::rename(from.c_str(), to.c_str()) != 0) throw write_failure(to, "it cannot be put in place", errno);
    }
    if (std::rename(temporary_.c_str(), target_.c_str()) != 0) throw write_failure(target_, "it cannot be put in place", errno);
    owned_ = false;
    for (const std::filesystem::path& file : temporaries()) finished(file);
    const int folder = ::open(folder_of(target_).c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder >= 0) {
        ::fsync(folder);  // best effort: some file systems refuse it for folders
        ::close(folder);
    }
}

void write_whole(const std::filesystem::path& target, const std::function<void(std::ostream&)>& write) {
    PendingFile file(target);
    std::ofstream out = file.open();
    file.lock();
    write(out);
    out.close();
    if (!out) throw write_failure(target, "it cannot be written", errno);
    file.replace_target();
}

void remove_pending_files() {
    unfinished().mutex.lock();  // for good: nothing more may be made in what little time is left
    for (const std::filesystem::path& file : unfinished().files) remove_with_journals(file);
    unfinished().files.clear();
}

}  // namespace subcrop::io
