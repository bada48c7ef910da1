// Files that take others' places when they are whole: one by itself, or all of a run together.
//
//     PendingFiles files;
//     files.write("results/units.csv", [&](std::ostream& out) { out << table; });
//     files.write("results/report.html", [&](std::ostream& out) { out << page; });
//     files.put_in_place();   // only now does either change; on failure neither does
#pragma once

#include <filesystem>
#include <functional>
#include <iosfwd>
#include <memory>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// "results.gpkg" is written as "results.partial.gpkg" beside it. While the object lives it holds a lock on that file,
/// so that two runs never write the same one; what a killed run left (its lock died with it) is removed. A link of that
/// name is removed too, and never written through.
class PendingFile {
public:
    /// Makes the folder where it is missing and sees that it can be written and has some room. Leaves no file.
    /// `parts`: endings (".dbf") of further files of the same name without which this one is nothing; they come and go
    /// with it. `indexes`: endings of files that other programs made of the old one; they go with it.
    explicit PendingFile(std::filesystem::path target, std::vector<std::string> parts = {},
                         std::vector<std::string> indexes = {});
    PendingFile(const PendingFile&) = delete;
    PendingFile& operator=(const PendingFile&) = delete;
    /// Removes the temporary unless it was put in place.
    ~PendingFile();

    const std::filesystem::path& target() const { return target_; }
    const std::filesystem::path& temporary() const { return temporary_; }

    /// Makes the temporary, locked, and has `fill` fill it. Throws Error where it cannot be written.
    void write(const std::function<void(std::ostream&)>& fill);
    /// To be called once something else has created the temporary.
    void lock();
    /// Syncs the temporary, renames it over the target and syncs the folder. Where there are parts the old target goes
    /// first and the new one comes last: who reads meanwhile finds the old one, none or the new one.
    void replace_target();
    /// Has the system begin to write what it was given, so that little is left to wait for at the end.
    void start_writing_back() const;

private:
    friend class PendingFiles;
    class FolderLock;

    /// All files beside the target with a name of this object.
    std::vector<std::filesystem::path> temporaries() const;
    void sync() const;
    static void put_in_place(const std::vector<PendingFile*>& files);

    std::filesystem::path target_;
    std::filesystem::path temporary_;
    std::vector<std::string> parts_;
    std::vector<std::string> indexes_;
    int descriptor_ = -1;
    bool owned_ = false;  ///< the temporary is this object's to remove
    std::unique_ptr<FolderLock> making_;
};

/// Files that are put in place together. Removes them all unless they were.
class PendingFiles {
public:
    /// A file that is whole and locked.
    void take(std::unique_ptr<PendingFile> file);
    void write(const std::filesystem::path& target, const std::function<void(std::ostream&)>& fill);
    /// All of them one after the other, as fast as they can be renamed. Throws Error if one fails. The earlier ones are
    /// then put back, and the old files are as before.
    void put_in_place();

private:
    std::vector<std::unique_ptr<PendingFile>> files_;
};

/// Writes a file in one go: `fill` fills it beside the target, which it replaces once whole. Throws Error where it
/// cannot be written.
void write_whole(const std::filesystem::path& target, const std::function<void(std::ostream&)>& fill);

/// Every path that writing a file so may replace or remove.
std::vector<std::filesystem::path> files_written_for(const std::filesystem::path& target,
                                                     const std::vector<std::string>& parts = {},
                                                     const std::vector<std::string>& indexes = {});

/// Removes every temporary that some PendingFile still holds; nothing may be done with those objects afterwards. For a
/// program that must stop and ends with the next line. True where files had been put in place before. May be called on
/// any thread.
bool remove_pending_files();

}  // namespace subcrop::io
SUBCROP_EXPORT_END
