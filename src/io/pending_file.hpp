// A file that takes another's place when it is whole.
#pragma once

#include <filesystem>
#include <fstream>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace subcrop::io {

/// "results.gpkg" is written as "results.partial.gpkg" beside it. While the object lives it holds a lock on that file,
/// so that two runs never write the same one; what a killed run left (its lock died with it) is removed.
class PendingFile {
public:
    /// Makes the folder where it is missing and sees that it can be written and has some room. Leaves no file. `parts`: endings
    /// (".dbf") of further files of the same name without which this one is nothing; they come and go with it.
    explicit PendingFile(std::filesystem::path target, std::vector<std::string> parts = {});
    PendingFile(const PendingFile&) = delete;
    PendingFile& operator=(const PendingFile&) = delete;
    /// Removes the temporary unless it was put in place.
    ~PendingFile();

    const std::filesystem::path& target() const { return target_; }
    const std::filesystem::path& temporary() const { return temporary_; }

    /// The temporary, made and opened in one go: a run that is told to stop meanwhile leaves none behind. Throws Error.
    std::ofstream open();
    /// To be called once the temporary has been created.
    void lock();
    /// Syncs the temporary, renames it over the target and syncs the folder. Where there are parts the old target goes first and the
    /// new one comes last: who reads meanwhile finds the old one, none or the new one.
    void replace_target();
    /// Has the system begin to write what it was given, so that little is left to wait for at the end.
    void start_writing_back() const;

private:
    class FolderLock;

    /// The temporary itself and its parts.
    std::vector<std::filesystem::path> temporaries() const;

    std::filesystem::path target_;
    std::filesystem::path temporary_;
    std::vector<std::string> parts_;
    int descriptor_ = -1;
    bool owned_ = false;  ///< the temporary is this object's to remove
    std::unique_ptr<FolderLock> making_;
};

/// Writes a file in one go: `write` fills it beside the target, which it replaces once whole. Throws Error where it cannot be
/// written.
void write_whole(const std::filesystem::path& target, const std::function<void(std::ostream&)>& write);

/// Removes every temporary that some PendingFile still holds; nothing may be done with those objects afterwards. For a program
/// that was told to stop and ends with the next line. May be called on any thread.
void remove_pending_files();

}  // namespace subcrop::io
