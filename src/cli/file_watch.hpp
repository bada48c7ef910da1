// Waits until files change (inotify). Their folders are watched, since editors replace files by renaming.
//
//     FileWatch watch({"/home/me/hesk/survey.json", "/home/me/hesk/stops.csv"});
//     ...                // changes from here on are noticed
//     watch.wait();      // returns once one of them changed and all have been left alone for 0.3 s
//
// Not noticed: what another computer changes on a network drive, and databases.
#pragma once

#include <filesystem>
#include <map>
#include <set>
#include <string>
#include <vector>

namespace subcrop::cli {

class FileWatch {
public:
    /// A folder means all files in it. Throws Error if the system refuses.
    explicit FileWatch(const std::vector<std::filesystem::path>& files);
    FileWatch(const FileWatch&) = delete;
    FileWatch& operator=(const FileWatch&) = delete;
    ~FileWatch();

    void wait();

private:
    void add_folder(std::filesystem::path folder, const std::string& name);
    /// Reads what has happened; true where it concerns one of the files.
    bool some_changed();
    /// False where nothing happened for so long; below 0: waits without end.
    bool something_happened(int milliseconds) const;

    int descriptor_;
    std::map<int, std::set<std::string>> names_;  ///< by the watched folder; an empty name means all in it
};

}  // namespace subcrop::cli
