#include "cli/file_watch.hpp"

#include <poll.h>
#include <sys/inotify.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <system_error>

#include "subcrop/core/error.hpp"

namespace subcrop::cli {

namespace {

namespace fs = std::filesystem;

constexpr int quiet_ms = 300;
constexpr std::chrono::seconds longest_unrest{10};  // a file that grows all day must not hold a run up for ever

constexpr std::uint32_t of_files = IN_CLOSE_WRITE | IN_MODIFY | IN_CREATE | IN_DELETE | IN_MOVED_FROM | IN_MOVED_TO;
constexpr std::uint32_t of_folder = IN_DELETE_SELF | IN_MOVE_SELF;

Error refused(int reason) {
    return {{},
            std::string("the system does not tell of changed files (") + std::strerror(reason) + ")",
            "Run it without --watch, or close other programs that watch many folders."};
}

}  // namespace

FileWatch::FileWatch(const std::vector<fs::path>& files) : descriptor_(::inotify_init1(IN_CLOEXEC | IN_NONBLOCK)) {
    if (descriptor_ < 0) throw refused(errno);
    for (const fs::path& file : files) {
        std::error_code failure;
        // A link and what it leads to.
        for (const fs::path& path : {fs::absolute(file).lexically_normal(), fs::weakly_canonical(file, failure)}) {
            if (path.empty()) continue;
            add_folder(path.parent_path(), path.filename());
            if (fs::is_directory(path, failure)) add_folder(path, {});
        }
    }
}

FileWatch::~FileWatch() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

void FileWatch::add_folder(fs::path folder, const std::string& name) {
    int watch = ::inotify_add_watch(descriptor_, folder.c_str(), of_files | of_folder);
    std::string awaited = name;
    // Where the folder is missing the one above it is watched until it comes.
    while (watch < 0 && (errno == ENOENT || errno == ENOTDIR) && folder.has_relative_path()) {
        awaited = folder.filename();
        folder = folder.parent_path();
        watch = ::inotify_add_watch(descriptor_, folder.c_str(), of_files | of_folder);
    }
    if (watch < 0 && errno == EACCES) return;  // the run tells that it may not be read
    if (watch < 0) throw refused(errno);
    names_[watch].insert(awaited);
}

bool FileWatch::something_happened(int milliseconds) const {
    pollfd awaited{descriptor_, POLLIN, 0};
    for (;;) {
        const int ready = ::poll(&awaited, 1, milliseconds);
        if (ready >= 0) return ready > 0;
        if (errno != EINTR) throw refused(errno);
    }
}

bool FileWatch::some_changed() {
    alignas(inotify_event) std::array<char, 16384> bytes{};
    bool changed = false;
    for (;;) {
        const ssize_t got = ::read(descriptor_, bytes.data(), bytes.size());
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) return changed;
        for (std::size_t at = 0; at < static_cast<std::size_t>(got);) {
            inotify_event event{};
            std::memcpy(&event, bytes.data() + at, sizeof event);
            const char* name = event.len > 0 ? bytes.data() + at + sizeof event : "";
            const auto watched = names_.find(event.wd);
            // Of an overflow, or a folder that is gone, it is not known what changed.
            const bool all = (event.mask & (IN_Q_OVERFLOW | IN_IGNORED | IN_UNMOUNT | of_folder)) != 0;
            changed |= all || (watched != names_.end() &&
                               (watched->second.contains(name) || watched->second.contains(std::string())));
            at += sizeof event + event.len;
        }
    }
}

void FileWatch::wait() {
    do something_happened(-1);
    while (!some_changed());
    const auto begin = std::chrono::steady_clock::now();
    while (something_happened(quiet_ms) && std::chrono::steady_clock::now() - begin < longest_unrest) some_changed();
}

}  // namespace subcrop::cli
