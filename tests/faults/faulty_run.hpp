// A run of the program that something may befall.
#pragma once

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <string>
#include <vector>

#include "support/bytes_of.hpp"
#include "under_sanitizer.hpp"

namespace subcrop::test {

namespace fs = std::filesystem;

/// A folder of its own, gone afterwards, with the sample survey in it: under the title `old`, and under the title
/// `fresh`, whose results differ. Contacts stay and traverses are not followed, so that a run takes a fraction of a
/// second.
class FaultFolder {
public:
    FaultFolder() {
        std::string pattern = (fs::temp_directory_path() / "subcrop_faults_XXXXXX").string();
        path_ = mkdtemp(pattern.data());
        fs::permissions(path_, fs::perms::owner_all | fs::perms::group_read | fs::perms::group_exec |
                                   fs::perms::others_read | fs::perms::others_exec);
        for (const char* name : {"stops.csv", "horizons.csv", "draft_map.gpkg", "legend.csv"})
            fs::copy_file(fs::path(SUBCROP_SOURCE_DIR) / "sampledata" / name, path_ / name);
        write_survey("old", "the old results");
        write_survey("fresh", "the fresh results");
    }
    FaultFolder(const FaultFolder&) = delete;
    FaultFolder& operator=(const FaultFolder&) = delete;
    ~FaultFolder() { fs::remove_all(path_); }

    const fs::path& path() const { return path_; }
    fs::path results() const { return path_ / "results"; }
    fs::path survey(const std::string& which) const { return path_ / (which + ".json"); }
    std::vector<std::string> names_in_results() const {
        std::vector<std::string> names;
        std::error_code none;
        for (const auto& entry : fs::recursive_directory_iterator(results(), none))
            // Records of earlier runs gather there.
            if (entry.is_regular_file() && entry.path().parent_path().filename() != "history")
                names.push_back(entry.path().lexically_relative(results()).string());
        std::sort(names.begin(), names.end());
        return names;
    }

private:
    void write_survey(const std::string& which, const std::string& title) const {
        std::ofstream(survey(which)) << R"({"title": ")" << title << R"(", "crs": "EPSG:32631",
            "stops": {"source": "stops.csv", "x": "lon", "y": "lat", "crs": "EPSG:4326"}, "horizons": {"source": "horizons.csv"},
            "map": {"source": "draft_map.gpkg", "layer": "units", "contact_sd_m": 40}, "legend": {"source": "legend.csv"},
            "settings": {"move_contacts": false, "follow_traverses": false}, "results": "results"})";
    }

    fs::path path_;
};

struct Ending {
    int code = -1;  ///< exit code; -1 where a signal ended it
    int signal = 0;
    std::string said;  ///< on standard error
};

/// A process that runs the program, started at once. `before` is called in it before the program is.
class RunningProgram {
public:
    /// `subcrop run` on one of the folder's surveys.
    explicit RunningProgram(
        const FaultFolder& folder, const std::string& which = "fresh", const std::function<void()>& before = [] {})
        : RunningProgram(folder, std::vector<std::string>{"run", folder.survey(which).string()}, before) {}

    RunningProgram(
        const FaultFolder& folder, std::vector<std::string> arguments, const std::function<void()>& before = [] {})
        : errors_(folder.path() / ("stderr" + std::to_string(++count()))) {
        std::vector<char*> words{const_cast<char*>(SUBCROP_EXECUTABLE)};
        for (std::string& argument : arguments) words.push_back(argument.data());
        words.push_back(nullptr);
        child_ = fork();
        if (child_ != 0) return;
        setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
        const int to = open(errors_.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0666);
        dup2(to, 2);
        dup2(open("/dev/null", O_WRONLY), 1);
        alarm(100 * patience);  // a hang ends here
        before();
        execv(SUBCROP_EXECUTABLE, words.data());
        _exit(127);
    }

    void send(int signal) const { kill(child_, signal); }
    Ending wait() {
        int status = 0;
        waitpid(child_, &status, 0);
        return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, WIFSIGNALED(status) ? WTERMSIG(status) : 0,
                bytes_of(errors_)};
    }

private:
    static int& count() {
        static int runs = 0;
        return runs;
    }
    fs::path errors_;
    pid_t child_ = -1;
};

inline Ending run(
    const FaultFolder& folder, const std::string& which, const std::function<void()>& before = [] {}) {
    return RunningProgram(folder, which, before).wait();
}

/// What whole results look like: bytes of each file under either title.
struct WholeResults {
    std::vector<std::string> names;
    std::vector<std::string> old, fresh;
    std::chrono::microseconds usual_time{};

    /// Runs both; the old ones stay in the folder.
    explicit WholeResults(const FaultFolder& folder) {
        // Either says what changed since the other, so that both have a past before they are measured.
        run(folder, "old");
        // The quickest of three: one that other work held up would have every wait after it too long.
        for (int i = 0; i < 3; ++i) {
            const auto start = std::chrono::steady_clock::now();
            run(folder, "fresh");
            const auto took =
                std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - start);
            usual_time = i == 0 ? took : std::min(usual_time, took);
        }
        names = folder.names_in_results();
        for (const std::string& name : names) fresh.push_back(bytes_of(folder.results() / name));
        run(folder, "old");
        for (const std::string& name : names) old.push_back(bytes_of(folder.results() / name));
    }

    /// Empty where each file is one of the two, whole; else what is wrong.
    std::string fault(const FaultFolder& folder, bool old_only = false) const {
        for (std::size_t i = 0; i < names.size(); ++i) {
            const std::string now = bytes_of(folder.results() / names[i]);
            if (now != old[i] && (old_only || now != fresh[i]))
                return names[i] + " is neither the old one nor the new one";
        }
        return {};
    }
    /// Whether some files are the old ones and others the new ones.
    bool mixed(const FaultFolder& folder) const {
        bool some_old = false, some_fresh = false;
        for (std::size_t i = 0; i < names.size(); ++i) {
            const std::string now = bytes_of(folder.results() / names[i]);
            some_old |= now == old[i] && now != fresh[i];
            some_fresh |= now == fresh[i] && now != old[i];
        }
        return some_old && some_fresh;
    }
};

}  // namespace subcrop::test
