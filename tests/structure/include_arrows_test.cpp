// The folders depend on one another in one direction only; this reads every #include line and names each arrow that
// runs the other way, and each third-party header outside the folders that may know it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::IsEmpty;

// core <- field <- model <- geo <- {infer, io} <- publish <- cli
const std::map<std::string, std::set<std::string>> may_include = {
    {"core", {}},
    {"field", {"core"}},
    {"model", {"core", "field"}},
    {"geo", {"core", "field", "model"}},
    {"infer", {"core", "field", "model", "geo"}},
    {"io", {"core", "field", "model", "geo"}},
    {"publish", {"core", "field", "model", "geo", "infer", "io"}},
    {"cli", {"core", "field", "model", "geo", "infer", "io", "publish"}},
};

// The rooms of infer: statistics <- evidence <- learning <- answer <- contacts <- description <- planning; trial beside
// them.
const std::map<std::string, std::set<std::string>> room_may_include = {
    {"statistics", {}},
    {"evidence", {"statistics"}},
    {"learning", {"statistics", "evidence"}},
    {"answer", {"statistics", "evidence", "learning"}},
    {"contacts", {"statistics", "evidence", "learning", "answer"}},
    {"description", {"statistics", "evidence", "learning", "answer", "contacts"}},
    {"planning", {"statistics", "evidence", "learning", "answer", "contacts", "description"}},
    {"trial", {"statistics", "evidence", "learning", "answer", "contacts"}},
};
// Public headers of infer without a source file of their name; the others belong where that stands.
const std::map<std::string, std::string> room_of_header = {{"answer_settings", "answer"},
                                                           {"average_precision", "statistics"},
                                                           {"separation", "evidence"},
                                                           {"shift_choice", "answer"},
                                                           {"stop_cluster", "answer"}};

struct Library {
    std::string name;
    std::vector<std::string> prefixes;  // of its headers' names
    std::set<std::string> folders;      // that may include it
};

const std::array<Library, 5> guarded = {{
    {"GDAL", {"gdal", "ogr", "cpl_", "vrt"}, {"io", "publish"}},
    {"SQLite", {"sqlite3"}, {"io", "publish"}},
    {"libqrencode", {"qrencode"}, {"publish"}},
    {"PROJ", {"proj"}, {"geo"}},
    {"GEOS", {"geos"}, {"geo"}},
}};

struct Include {
    std::string target;
    bool quoted = false;
};

std::vector<Include> includes_of(std::istream& source) {
    std::vector<Include> found;
    std::string line;
    while (std::getline(source, line)) {
        const auto hash = line.find_first_not_of(" \t");
        if (hash == std::string::npos || line[hash] != '#') continue;
        const auto word = line.find_first_not_of(" \t", hash + 1);
        if (word == std::string::npos || line.compare(word, 7, "include") != 0) continue;
        const auto open = line.find_first_of("<\"", word + 7);
        if (open == std::string::npos) continue;
        const bool quoted = line[open] == '"';
        const auto close = line.find(quoted ? '"' : '>', open + 1);
        if (close == std::string::npos) continue;
        found.push_back({line.substr(open + 1, close - open - 1), quoted});
    }
    return found;
}

bool is_standard(const Include& include) {
    return !include.quoted && include.target.find_first_of("./") == std::string::npos;
}

// One sentence for each include that breaks a rule. `folder` is the file's own.
std::vector<std::string> broken_rules(const std::string& file, const std::string& folder, bool is_public,
                                      std::istream& source) {
    std::vector<std::string> broken;
    for (const Include& include : includes_of(source)) {
        std::string target = include.target;
        const bool ours_in_public = target.starts_with("subcrop/");
        if (ours_in_public) target = target.substr(8);
        const std::string first = target.substr(0, target.find('/'));
        if (target.find('/') != std::string::npos && may_include.contains(first)) {
            if (first != folder && !may_include.at(folder).contains(first))
                broken.push_back(file + " includes " + include.target + ": " + folder + " may not depend on " + first);
            if (is_public && !ours_in_public)
                broken.push_back(file + " includes " + include.target + ": a public header may not need a private one");
            continue;
        }
        if (is_public && !is_standard(include))
            broken.push_back(file + " includes " + include.target +
                             ": a public header includes only the standard library and its own kind");
        for (const Library& library : guarded) {
            for (const std::string& prefix : library.prefixes) {
                const bool is_its = !include.quoted || target.find('/') == std::string::npos;
                if (is_its && !is_standard(include) && target.ends_with(".h") && target.starts_with(prefix) &&
                    !library.folders.contains(folder))
                    broken.push_back(file + " includes " + include.target + ": " + library.name + " is not for " +
                                     folder);
            }
        }
    }
    return broken;
}

std::vector<std::string> broken_rules(const std::string& file, const std::string& folder, bool is_public,
                                      const std::string& text) {
    std::istringstream source(text);
    return broken_rules(file, folder, is_public, source);
}

struct SourceFile {
    fs::path path;
    std::string folder;
    bool is_public = false;
};

std::vector<SourceFile> source_files() {
    const fs::path root = SUBCROP_SOURCE_DIR;
    std::vector<SourceFile> files;
    for (const auto& [top, is_public] : {std::pair{root / "include/subcrop", true}, std::pair{root / "src", false}}) {
        for (const auto& entry : fs::recursive_directory_iterator(top)) {
            const std::string extension = entry.path().extension();
            if (extension != ".hpp" && extension != ".cpp" && extension != ".inc" && extension != ".h") continue;
            files.push_back({entry.path(), fs::relative(entry.path(), top).begin()->string(), is_public});
        }
    }
    return files;
}

TEST(IncludeArrows, RunOneWay) {
    const auto files = source_files();
    ASSERT_GT(files.size(), 40U);
    std::vector<std::string> broken;
    for (const SourceFile& file : files) {
        ASSERT_TRUE(may_include.contains(file.folder))
            << file.path << " stands in a folder without a place in the order";
        std::ifstream source(file.path);
        ASSERT_TRUE(source.is_open()) << file.path;
        const auto more =
            broken_rules(fs::relative(file.path, SUBCROP_SOURCE_DIR).string(), file.folder, file.is_public, source);
        broken.insert(broken.end(), more.begin(), more.end());
    }
    EXPECT_THAT(broken, IsEmpty());
}

// By the name of a header or source file without its ending; empty: none.
std::map<std::string, std::string> rooms_of_infer() {
    std::map<std::string, std::string> rooms = room_of_header;
    for (const auto& entry : fs::recursive_directory_iterator(fs::path(SUBCROP_SOURCE_DIR) / "src/infer"))
        if (entry.path().extension() == ".cpp" || entry.path().extension() == ".hpp")
            rooms[entry.path().stem()] = entry.path().parent_path().filename();
    return rooms;
}

TEST(IncludeArrows, BetweenTheRoomsOfInferRunOneWay) {
    const std::map<std::string, std::string> rooms = rooms_of_infer();
    std::vector<std::string> broken;
    std::set<std::string> present;
    for (const SourceFile& file : source_files()) {
        if (file.folder != "infer" || file.path.extension() == ".txt") continue;
        const auto own = rooms.find(file.path.stem());
        ASSERT_NE(own, rooms.end()) << file.path << " has no room";
        ASSERT_TRUE(room_may_include.contains(own->second))
            << file.path << " stands in a room without a place in the order";
        present.insert(own->second);
        std::ifstream source(file.path);
        for (const Include& include : includes_of(source)) {
            if (!include.target.starts_with("infer/") && !include.target.starts_with("subcrop/infer/")) continue;
            const auto other = rooms.find(fs::path(include.target).stem());
            ASSERT_NE(other, rooms.end()) << file.path << " includes " << include.target;
            if (other->second != own->second && !room_may_include.at(own->second).contains(other->second))
                broken.push_back(file.path.string() + " includes " + include.target + ": " + own->second +
                                 " may not depend on " + other->second);
        }
    }
    EXPECT_THAT(broken, IsEmpty());
    EXPECT_EQ(present.size(), room_may_include.size());
}

TEST(IncludeArrows, EveryFolderIsThere) {
    std::set<std::string> present;
    for (const SourceFile& file : source_files()) present.insert(file.folder);
    std::set<std::string> known;
    for (const auto& [folder, targets] : may_include) known.insert(folder);
    EXPECT_EQ(present, known);
}

TEST(IncludeArrows, NameTheArrowThatRunsTheOtherWay) {
    EXPECT_THAT(broken_rules("a.cpp", "infer", false, "#include \"subcrop/io/survey_file.hpp\"\n"),
                ElementsAre("a.cpp includes subcrop/io/survey_file.hpp: infer may not depend on io"));
    EXPECT_THAT(broken_rules("a.cpp", "core", false, "  #  include \"field/words.hpp\" // why\n"),
                ElementsAre("a.cpp includes field/words.hpp: core may not depend on field"));
    EXPECT_THAT(broken_rules("a.cpp", "io", false,
                             "#include <gdal_priv.h>\n#include \"io/table.hpp\"\n#include \"table.hpp\"\n"),
                IsEmpty());
}

TEST(IncludeArrows, NameThirdPartyHeadersOutsideTheirFolders) {
    EXPECT_THAT(broken_rules("a.cpp", "infer", false, "#include <ogrsf_frmts.h>\n"),
                ElementsAre("a.cpp includes ogrsf_frmts.h: GDAL is not for infer"));
    EXPECT_THAT(
        broken_rules("a.cpp", "io", false, "#include <proj.h>\n#include <geos_c.h>\n"),
        ElementsAre("a.cpp includes proj.h: PROJ is not for io", "a.cpp includes geos_c.h: GEOS is not for io"));
    EXPECT_THAT(
        broken_rules("a.hpp", "io", true, "#include <vector>\n#include <nlohmann/json.hpp>\n"),
        ElementsAre(
            "a.hpp includes nlohmann/json.hpp: a public header includes only the standard library and its own kind"));
    EXPECT_THAT(broken_rules("a.hpp", "io", true, "#include \"io/table.hpp\"\n"),
                ElementsAre("a.hpp includes io/table.hpp: a public header may not need a private one"));
}

}  // namespace
