#include "io/pending_file.hpp"

#include <gmock/gmock.h>

#include <fstream>
#include <iterator>

#include "io/own_sources.hpp"
#include "io/scratch_survey.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::io {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;

std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        names.push_back(entry.path().lexically_relative(folder).string());
    std::sort(names.begin(), names.end());
    return names;
}

std::string error_of_placing(PendingFiles& files) {
    try {
        files.put_in_place();
    } catch (const Error& error) {
        return error.what();
    }
    return {};
}

const auto saying = [](const char* text) { return [text](std::ostream& out) { out << text; }; };

TEST(PendingFiles, ComeTogether) {
    const ScratchFolder folder;
    folder.write("old.txt", "old");
    PendingFiles files;
    files.write(folder.path() / "old.txt", saying("new"));
    files.write(folder.path() / "sub" / "more.txt", saying("more"));
    EXPECT_EQ(bytes_of(folder.path() / "old.txt"), "old");
    EXPECT_FALSE(fs::exists(folder.path() / "sub" / "more.txt"));
    files.put_in_place();
    EXPECT_EQ(bytes_of(folder.path() / "old.txt"), "new");
    EXPECT_THAT(names_in(folder.path()), ElementsAre("old.txt", "sub", "sub/more.txt"));
}

TEST(PendingFiles, StayAsTheyWereWhereOneCannotBePutInPlace) {
    const ScratchFolder folder;
    for (const char* name : {"a.txt", "b.dbf", "b.shp", "b.qix", "a.txt-wal"}) folder.write(name, "old");
    const auto before = names_in(folder.path());
    {
        PendingFiles files;
        files.write(folder.path() / "a.txt", saying("new"));
        files.write(folder.path() / "fresh.txt", saying("new"));
        auto shape = std::make_unique<PendingFile>(folder.path() / "b.shp", std::vector<std::string>{".dbf", ".prj"},
                                                   std::vector<std::string>{".qix"});
        shape->write(saying("new"));
        folder.write("b.partial.dbf", "new");
        folder.write("b.partial.prj", "new");
        files.take(std::move(shape));
        files.write(folder.path() / "c.txt", saying("new"));
        fs::create_directories(folder.path() / "c.txt" / "full");
        EXPECT_THAT(
            error_of_placing(files),
            HasSubstr(
                "c.txt: a folder of this name is in the way. Rename the folder, or name another results folder."));
    }
    fs::remove_all(folder.path() / "c.txt");
    EXPECT_EQ(names_in(folder.path()), before);
    for (const std::string& name : before) EXPECT_EQ(bytes_of(folder.path() / name), "old") << name;
}

TEST(PendingFiles, OfManyPartsReplaceAllOfTheOldOnes) {
    const ScratchFolder folder;
    for (const char* name : {"b.dbf", "b.shp", "b.qix", "b.cpg"}) folder.write(name, "old");
    PendingFile shape(folder.path() / "b.shp", {".dbf", ".cpg"}, {".qix"});
    shape.write(saying("new"));
    folder.write("b.partial.dbf", "new");
    shape.replace_target();
    EXPECT_THAT(names_in(folder.path()), ElementsAre("b.dbf", "b.shp"));
    EXPECT_EQ(bytes_of(folder.path() / "b.dbf"), "new");
    EXPECT_EQ(bytes_of(folder.path() / "b.shp"), "new");
}

/// Somebody may have left a link of the temporary's name, in a folder that others write to.
TEST(PendingFiles, AreNotWrittenThroughLinks) {
    const ScratchFolder folder;
    const fs::path victim = folder.write("victim", "precious"), target = folder.path() / "units.csv",
                   temporary = folder.path() / "units.partial.csv";
    fs::create_symlink(victim, temporary);
    write_whole(target, saying("table"));
    EXPECT_EQ(bytes_of(victim), "precious");
    fs::create_hard_link(victim, temporary);
    write_whole(target, saying("table"));
    EXPECT_EQ(bytes_of(victim), "precious");
    fs::create_symlink(folder.path() / "not yet", temporary);
    write_whole(target, saying("table"));
    EXPECT_FALSE(fs::exists(folder.path() / "not yet"));
    // A target that is a link is itself replaced.
    fs::remove(target);
    fs::create_symlink(victim, target);
    write_whole(target, saying("table"));
    EXPECT_EQ(bytes_of(victim), "precious");
    EXPECT_FALSE(fs::is_symlink(target));
    EXPECT_THAT(names_in(folder.path()), ElementsAre("units.csv", "victim"));
}

TEST(PendingFiles, PartsAreNotWrittenThroughLinksEither) {
    const ScratchFolder folder;
    const fs::path victim = folder.write("victim", "precious");
    for (const char* part : {"b.partial.shp", "b.partial.dbf", "b.partial.shp-journal"})
        fs::create_symlink(victim, folder.path() / part);
    const PendingFile shape(folder.path() / "b.shp", {".dbf"});
    EXPECT_THAT(names_in(folder.path()), ElementsAre("victim"));
    EXPECT_EQ(bytes_of(victim), "precious");
}

TEST(OwnSources, AreKnownByWhateverName) {
    const ScratchFolder folder;
    const fs::path map = folder.write("draft.shp", "a"), table = folder.write("draft.dbf", "b");
    fs::create_directories(folder.path() / "results");
    fs::create_symlink(map, folder.path() / "results" / "by link.shp");
    fs::create_hard_link(table, folder.path() / "results" / "units.csv");
    fs::create_directory_symlink(folder.path(), folder.path() / "results" / "here");
    const std::vector<OwnSource> sources = files_of("map", "draft.shp", map);
    const auto error = [&](const fs::path& written) -> std::string {
        try {
            refuse_to_replace(sources, {written});
        } catch (const Error& refused) {
            return refused.what();
        }
        return "fine";
    };
    const std::string why =
        ": this would replace the map it comes from. Name another folder or file. The map would be read from "
        "'draft.shp'.";
    for (const fs::path& written :
         {map, table, folder.path() / "results" / "by link.shp", folder.path() / "results" / "units.csv",
          folder.path() / "results" / "here" / "draft.shp", folder.path() / "results" / ".." / "draft.prj"})
        EXPECT_EQ(error(written), written.string() + why);
    EXPECT_EQ(error(folder.path() / "results" / "other.csv"), "fine");
    const std::vector<OwnSource> whole = files_of("map", "a folder", folder.path());
    EXPECT_THROW(refuse_to_replace(whole, {folder.path() / "anything.csv"}), Error);
    EXPECT_NO_THROW(refuse_to_replace(whole, {folder.path() / "results" / "anything.csv"}));
}

}  // namespace
}  // namespace subcrop::io
