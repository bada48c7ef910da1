#include "io/input_digest.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <map>
#include <string_view>
#include <utility>
#include <vector>

#include "io/own_sources.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t largest_read_whole = std::uintmax_t{4} << 30;

class Hash {
public:
    /// Pieces of a file but the last must be multiples of 8 bytes.
    void add(const char* bytes, std::size_t count) {
        for (; count >= 8; bytes += 8, count -= 8) {
            std::uint64_t word = 0;
            std::memcpy(&word, bytes, 8);
            add(word);
        }
        std::uint64_t rest = 0;
        std::memcpy(&rest, bytes, count);
        add(rest + (std::uint64_t{count} << 56U));
    }
    void add(std::string_view text) {
        add(text.data(), text.size());
        add(std::uint64_t{text.size()});
    }
    void add(std::uint64_t word) {
        state_ = (state_ ^ word) * 0x9E3779B97F4A7C15U;
        state_ ^= state_ >> 32U;
    }
    std::uint64_t value() const { return state_; }

private:
    std::uint64_t state_ = 0xCBF29CE484222325U;
};

/// 0 where there is no such file, or an empty one: a database that is only read may leave empty journals.
std::uint64_t hash_of(const fs::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);  // a pipe must not hold it up
    if (descriptor < 0) return 0;
    struct stat found {};
    Hash hash;
    std::uint64_t bytes = 0;
    if (::fstat(descriptor, &found) == 0 && S_ISREG(found.st_mode)) {
        bytes = static_cast<std::uint64_t>(found.st_size);
        if (bytes > largest_read_whole) {
            hash.add(static_cast<std::uint64_t>(found.st_mtim.tv_sec));
            hash.add(static_cast<std::uint64_t>(found.st_mtim.tv_nsec));
        } else {
            std::vector<char> piece(std::size_t{1} << 18U);
            std::size_t held = 0;
            for (;;) {
                const ssize_t got = ::read(descriptor, piece.data() + held, piece.size() - held);
                if (got > 0) held += static_cast<std::size_t>(got);
                if (got <= 0 || held == piece.size()) {
                    hash.add(piece.data(), held);
                    held = 0;
                }
                if (got <= 0) break;
            }
        }
        hash.add(bytes);
    }
    ::close(descriptor);
    return bytes == 0 ? 0 : hash.value();
}

/// Not those of folders in it: results may lie there.
std::vector<fs::path> files_in(const fs::path& folder) {
    std::vector<fs::path> files;
    std::error_code failure;
    for (auto entry = fs::directory_iterator(folder, failure); !failure && entry != fs::directory_iterator();
         entry.increment(failure)) {
        std::error_code none;
        if (entry->is_regular_file(none)) files.push_back(entry->path());
    }
    std::sort(files.begin(), files.end());
    return files;
}

void add_folder(const OwnSource& source, Hash& hash) {
    for (const fs::path& file : files_in(source.path)) {
        hash.add(file.filename().string());
        std::error_code failure;
        hash.add(source.what == "photographs" ? static_cast<std::uint64_t>(fs::file_size(file, failure))
                                              : hash_of(file));
    }
}

}  // namespace

std::string digest_of_inputs(const SurveyFile& file) {
    Hash hash;
    std::map<fs::path, std::uint64_t> known;  // stops, horizons and map often share one file
    for (const OwnSource& source : sources_of(file)) {
        if (source.path.string().ends_with("-shm")) continue;  // holds locks, no data
        hash.add(source.what);
        std::error_code failure;
        if (fs::is_directory(source.path, failure)) {
            add_folder(source, hash);
            continue;
        }
        const auto [entry, fresh] = known.try_emplace(source.path.lexically_normal());
        if (fresh) entry->second = hash_of(source.path);
        hash.add(entry->second);
    }
    std::array<char, 17> text{};
    std::snprintf(text.data(), text.size(), "%016llx", static_cast<unsigned long long>(hash.value()));
    return text.data();
}

}  // namespace subcrop::io
