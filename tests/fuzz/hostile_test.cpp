// Input made to hurt: absurd counts, depths and lengths, names that are SQL, markup or formulas, sources that lead
// elsewhere.
#include <gmock/gmock.h>
#include <netinet/in.h>
#include <sqlite3.h>
#include <sys/socket.h>
#include <sys/stat.h>

#include <cstdint>
#include <memory>

#include "faults/faulty_run.hpp"
#include "under_sanitizer.hpp"

namespace subcrop::test {
namespace {

using testing::AnyOf;
using testing::Eq;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

void write(const fs::path& file, const std::string& bytes) { std::ofstream(file, std::ios::binary) << bytes; }

/// Within 20 seconds of computing and 3 GB of addresses, as every hostile case must be answered.
Ending bounded_run(const FaultFolder& folder) {
    return run(folder, "fresh", [] {
        const rlimit most{rlim_t{3} << 30, rlim_t{3} << 30};
        if (!under_sanitizer) setrlimit(RLIMIT_AS, &most);
        const rlim_t longest = 20 * patience;
        const rlimit seconds{longest, longest};
        setrlimit(RLIMIT_CPU, &seconds);
    });
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
    return text;
}

std::string repeated(const std::string& text, std::size_t times) {
    std::string all;
    all.reserve(text.size() * times);
    for (std::size_t i = 0; i < times; ++i) all += text;
    return all;
}

void name_map(const FaultFolder& folder, const std::string& file) {
    write(folder.survey("fresh"),
          replaced(replaced(bytes_of(folder.survey("fresh")), "draft_map.gpkg", file), R"("layer": "units", )", ""));
}

std::string polygon_map(const std::string& geometry) {
    return R"({"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"unit": "Ha"}, "geometry": )" +
           geometry + "}]}";
}

TEST(Hostile, SurveyFilesOfAbsurdDepthAndLength) {
    const FaultFolder folder;
    const std::string sound = bytes_of(folder.survey("fresh"));
    for (const std::string& json : std::vector<std::string>{
             repeated("[", 1'000'000), repeated("{\"stops\":", 500'000), "\"" + std::string(100'000'000, 'a') + "\"",
             replaced(sound, "the fresh results", std::string(50'000'000, '<'))}) {
        write(folder.survey("fresh"), json);
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.signal, 0) << json.substr(0, 20);
        EXPECT_THAT(ending.code, AnyOf(Eq(0), Eq(1)));
        if (ending.code == 1) {
            EXPECT_THAT(ending.said, StartsWith("subcrop: "));
            EXPECT_LT(ending.said.size(), 2000U);
        }
    }
}

TEST(Hostile, MapsOfAbsurdDepthAndLength) {
    const FaultFolder folder;
    name_map(folder, "map.geojson");
    const std::string collection = R"({"type": "GeometryCollection", "geometries": [)";
    std::string ring = "[[[3.0, 57.0]";
    for (int i = 0; i < 300'000; ++i) ring += i % 2 == 0 ? ",[3.1, 57.1]" : ",[3.1, 57.0]";
    for (const std::string& geometry :
         std::vector<std::string>{repeated(collection, 100'000), repeated(collection, 900) + repeated("]}", 900),
                                  R"({"type": "Polygon", "coordinates": )" + repeated("[", 200'000) + "}",
                                  R"({"type": "Polygon", "coordinates": [[[3, 57], [4, 57], [4, 1e400], [3, 57]]]})",
                                  R"({"type": "Polygon", "coordinates": )" + ring + "]]}"}) {
        write(folder.path() / "map.geojson", polygon_map(geometry));
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.signal, 0) << geometry.substr(0, 60) << ending.said.substr(0, 300);
        EXPECT_EQ(ending.code, 1);
        EXPECT_THAT(ending.said, StartsWith("subcrop: "));
    }
}

TEST(Hostile, TablesOfAbsurdWidthAndLength) {
    const FaultFolder folder;
    const std::string sound = bytes_of(folder.path() / "stops.csv");
    const std::string head = sound.substr(0, sound.find('\n'));
    for (const std::string& table :
         std::vector<std::string>{head + "\n" + std::string(100'000'000, 'a') + "\n",
                                  head + repeated(",a", 20'000) + "\n", std::string(10'000'000, ','),
                                  sound + "\"" + std::string(20'000'000, '\n'), std::string(1'000'000, '\0')}) {
        write(folder.path() / "stops.csv", table);
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.signal, 0) << table.size() << ending.said.substr(0, 300);
        EXPECT_THAT(ending.code, AnyOf(Eq(0), Eq(1)));
    }
}

/// A GeoPackage whose one geometry claims more than it holds.
TEST(Hostile, GeometriesThatClaimMoreThanTheyHold) {
    const FaultFolder folder;
    for (const std::uint32_t count : {0xFFFFFFFFU, 0x7FFFFFFFU, 0x10000000U}) {
        for (const unsigned depth : {1U, 2U, 3U}) {
            std::string blob("GP\0\1\xF7\x7A\0\0", 8);  // little-endian, no envelope, srs 31479 or none
            const auto number = [&](std::uint32_t value) { blob.append(reinterpret_cast<const char*>(&value), 4); };
            for (unsigned i = 0; i < depth; ++i) {
                if (i < 2) blob += '\1';
                if (i < 2) number(i == 0 && depth == 3 ? 6 : 3);
                number(i + 1 == depth ? count : 1);
            }
            const fs::path file = folder.path() / "draft_map.gpkg";
            fs::copy_file(fs::path(SUBCROP_SOURCE_DIR) / "sampledata/draft_map.gpkg", file,
                          fs::copy_options::overwrite_existing);
            sqlite3* opened = nullptr;
            ASSERT_EQ(sqlite3_open(file.c_str(), &opened), SQLITE_OK);
            const std::unique_ptr<sqlite3, int (*)(sqlite3*)> database(opened, sqlite3_close);
            // The triggers of the index would refuse it, or want functions that only GDAL has.
            sqlite3_exec(opened,
                         "PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE type = 'trigger'; PRAGMA "
                         "writable_schema = RESET",
                         nullptr, nullptr, nullptr);
            sqlite3_stmt* update = nullptr;
            ASSERT_EQ(sqlite3_prepare_v2(opened, "UPDATE units SET geom = ?", -1, &update, nullptr), SQLITE_OK)
                << sqlite3_errmsg(opened);
            sqlite3_bind_blob(update, 1, blob.data(), static_cast<int>(blob.size()), SQLITE_STATIC);
            EXPECT_EQ(sqlite3_step(update), SQLITE_DONE) << sqlite3_errmsg(opened);
            sqlite3_finalize(update);
            const Ending ending = bounded_run(folder);
            EXPECT_EQ(ending.signal, 0) << ending.said;
            EXPECT_EQ(ending.code, 1);
            EXPECT_THAT(ending.said, StartsWith("subcrop: draft_map.gpkg"));
        }
    }
}

TEST(Hostile, NamesThatAreSqlOrMarkup) {
    const FaultFolder folder;
    const std::string evil = R"(x\"; DROP TABLE units; -- ' </script><script>alert(1)</script>)";
    for (const std::string& key :
         std::vector<std::string>{R"("columns": {"unit": ")" + evil + "\"}", R"("layer": ")" + evil + "\""}) {
        const std::string before = bytes_of(folder.path() / "draft_map.gpkg");
        write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), R"("layer": "units")", key));
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.code, 1);
        EXPECT_THAT(ending.said, AnyOf(HasSubstr("there is no column"), HasSubstr("there is no layer"),
                                       HasSubstr("several layers")));
        EXPECT_TRUE(before == bytes_of(folder.path() / "draft_map.gpkg"));
    }
}

TEST(Hostile, TextOfTheFieldBookStaysText) {
    const FaultFolder folder;
    const std::string evil = "=cmd|' /C calc'!A0<script>alert(1)</script>";
    write(folder.path() / "legend.csv",
          replaced(bytes_of(folder.path() / "legend.csv"), "\nKb,", "\nKb,\"" + evil + "\","));
    write(folder.survey("fresh"),
          replaced(bytes_of(folder.survey("fresh")), "the fresh results", "</title><script>alert(2)</script>"));
    const Ending ending = run(folder, "fresh");
    ASSERT_EQ(ending.code, 0) << ending.said;
    const std::string page = bytes_of(folder.results() / "report.html");
    EXPECT_THAT(page, Not(HasSubstr("<script>alert(")));
    for (const auto& entry : fs::directory_iterator(folder.results())) {
        if (entry.path().extension() != ".csv") continue;
        std::ifstream in(entry.path());
        for (std::string line; std::getline(in, line);) {
            EXPECT_THAT(line, Not(HasSubstr(",=cmd")));
            EXPECT_THAT(line, Not(HasSubstr(",\"=cmd")));
        }
    }
}

/// A source is read and nothing beyond it: formats whose files lead elsewhere are refused.
TEST(Hostile, SourcesThatLeadElsewhere) {
    const FaultFolder folder;
    const std::string secret = (folder.path() / "legend.csv").string();
    const std::vector<std::pair<std::string, std::string>> files = {
        {"map.vrt", "<OGRVRTDataSource><OGRVRTLayer name=\"legend\"><SrcDataSource>" + secret +
                        "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"},
        {"map.xml", "<OGRWFSDataSource><URL>http://127.0.0.1:9/</URL></OGRWFSDataSource>"},
        {"service.xml", "<WFS_Capabilities version=\"1.0.0\"></WFS_Capabilities>"}};
    for (const auto& [name, text] : files) {
        write(folder.path() / name, text);
        write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), "draft_map.gpkg", name));
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.code, 1);
        EXPECT_THAT(ending.said, HasSubstr(name + ": ")) << ending.said;
        EXPECT_THAT(ending.said, AnyOf(HasSubstr("are not read: they may name further files or addresses"),
                                       HasSubstr("no file of a known format")));
    }
    write(folder.path() / "map.vrt", files[0].second);
    write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), "draft_map.gpkg", "map.vrt"));
    EXPECT_THAT(bounded_run(folder).said, StartsWith("subcrop: map.vrt: files of this kind (GDAL's driver OGR_VRT) are "
                                                     "not read: they may name further files or addresses. "
                                                     "Save the data as a GeoPackage, or name the file it comes from."));
    for (const char* source : {"/vsicurl/http://127.0.0.1:9/map.gpkg", "/vsizip/map.zip", "http://127.0.0.1:9/map.gpkg",
                               "GPKG:/etc/passwd:x", "WFS:127.0.0.1"}) {
        write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), "draft_map.gpkg", source));
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.code, 1);
        EXPECT_THAT(ending.said, HasSubstr("are not read")) << source;
    }
}

/// Takes one request, if any comes.
class Listener {
public:
    Listener() : socket_(socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK, 0)) {
        sockaddr_in place{};
        place.sin_family = AF_INET;
        place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        socklen_t size = sizeof place;
        if (bind(socket_, reinterpret_cast<sockaddr*>(&place), size) != 0 || listen(socket_, 4) != 0 ||
            getsockname(socket_, reinterpret_cast<sockaddr*>(&place), &size) != 0) {
            ADD_FAILURE() << "no socket";
        }
        port_ = ntohs(place.sin_port);
    }
    Listener(const Listener&) = delete;
    Listener& operator=(const Listener&) = delete;
    ~Listener() { close(socket_); }
    std::string address() const { return "http://127.0.0.1:" + std::to_string(port_) + "/crs"; }
    bool was_asked() const {
        const int connection = accept(socket_, nullptr, nullptr);
        if (connection >= 0) close(connection);
        return connection >= 0;
    }

private:
    int socket_;
    int port_ = 0;
};

TEST(Hostile, LinksOfGeoJsonAreNotFetched) {
    const FaultFolder folder;
    const Listener listener;
    name_map(folder, "map.geojson");
    for (const std::string& crs : std::vector<std::string>{
             R"({"type": "link", "properties": {"href": ")" + listener.address() + R"(", "type": "proj4"}})",
             R"({"properties": {"url": ")" + listener.address() + R"("}, "type": "URL"})"}) {
        write(folder.path() / "map.geojson",
              replaced(polygon_map(R"({"type": "Polygon", "coordinates": [[[3, 57], [4, 57], [4, 58], [3, 57]]]})"),
                       R"("features":)", R"("crs": )" + crs + R"(, "features":)"));
        const Ending ending = bounded_run(folder);
        EXPECT_EQ(ending.code, 1);
        EXPECT_THAT(ending.said, StartsWith("subcrop: map.geojson: it links to '" + listener.address() +
                                            "'; nothing is fetched from a network. State the coordinate "
                                            "reference system by its code"));
        EXPECT_FALSE(listener.was_asked());
    }
    write(folder.path() / "map.geojson",
          replaced(polygon_map("null"), R"("features":)",
                   R"("crs": {"type": "link", "properties": {"href": "file:///etc/passwd"}}, "features":)"));
    EXPECT_THAT(bounded_run(folder).said,
                StartsWith("subcrop: map.geojson: its coordinate reference system is a link, which is not followed."));
}

/// GDAL would show rows of any other file through such a table.
TEST(Hostile, VirtualTablesAreNotRead) {
    const FaultFolder folder;
    write(folder.path() / "secret.csv", "unit,name\nHa,secret\n");
    for (const std::string& name : std::vector<std::string>{"map.sqlite", "draft_map.gpkg"}) {
        for (const std::string& module :
             std::vector<std::string>{"VirtualOGR('" + (folder.path() / "secret.csv").string() + "')",
                                      "/**/ VirtualText(\"/etc/passwd\", 'UTF-8', 0)"}) {
            const fs::path file = folder.path() / name;
            fs::remove(file);
            fs::copy_file(fs::path(SUBCROP_SOURCE_DIR) / "sampledata/draft_map.gpkg", file);
            sqlite3* opened = nullptr;
            ASSERT_EQ(sqlite3_open(file.c_str(), &opened), SQLITE_OK);
            const std::unique_ptr<sqlite3, int (*)(sqlite3*)> database(opened, sqlite3_close);
            const std::string sql = "CREATE VIRTUAL TABLE \"a using rtree (\" USING " + module;
            sqlite3_exec(opened, "PRAGMA writable_schema = ON", nullptr, nullptr, nullptr);
            sqlite3_stmt* insert = nullptr;
            ASSERT_EQ(
                sqlite3_prepare_v2(
                    opened, "INSERT INTO sqlite_schema VALUES ('table', 'a using rtree (', 'a using rtree (', 0, ?)",
                    -1, &insert, nullptr),
                SQLITE_OK);
            sqlite3_bind_text(insert, 1, sql.c_str(), -1, SQLITE_TRANSIENT);
            EXPECT_EQ(sqlite3_step(insert), SQLITE_DONE);
            sqlite3_finalize(insert);
            write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), "draft_map.gpkg", name));
            const Ending ending = bounded_run(folder);
            EXPECT_EQ(ending.code, 1);
            EXPECT_THAT(ending.said,
                        StartsWith("subcrop: " + name + ": its table 'a using rtree (' is virtual (Virtual"));
            EXPECT_THAT(ending.said, HasSubstr("): it may show other files, which are not read. Save the layer as a "
                                               "GeoPackage of its own and name that."));
        }
    }
}

TEST(Hostile, JoinedTablesAreNotRead) {
    const FaultFolder folder;
    write(folder.path() / "map.tab",
          "!table\n!version 300\n\nDefinition Table\n  Type NATIVE Charset \"Neutral\"\n  Fields 1\n    Table Char "
          "(254) ;\n"
          "begin_metadata\n\"\\IsSeamless\" = \"TRUE\"\nend_metadata\n");
    write(folder.survey("fresh"), replaced(bytes_of(folder.survey("old")), "draft_map.gpkg", "map.tab"));
    EXPECT_THAT(bounded_run(folder).said,
                StartsWith("subcrop: map.tab: this table shows rows of other tables, which are not read."));
}

/// Whatever never ends is told from a file at once.
TEST(Hostile, DevicesAndPipesAreNoFiles) {
    const FaultFolder folder;
    ASSERT_EQ(mkfifo((folder.path() / "pipe.csv").c_str(), 0600), 0);
    const std::string old = bytes_of(folder.survey("old"));
    for (const auto& [source, what] : std::vector<std::pair<std::string, std::string>>{
             {"/dev/null", "a device"}, {"/dev/zero", "a device"}, {"pipe.csv", "a pipe"}}) {
        for (const char* role : {"stops.csv", "draft_map.gpkg", "legend.csv"}) {
            write(folder.survey("fresh"), replaced(old, role, source));
            EXPECT_THAT(bounded_run(folder).said, StartsWith("subcrop: " + source + ": this is " + what +
                                                             ", not a file. Copy the data to a file and name that."));
        }
        write(folder.survey("fresh"),
              replaced(old, R"("settings")", R"("terrain": {"source": ")" + source + R"("}, "settings")"));
        EXPECT_THAT(bounded_run(folder).said, StartsWith("subcrop: " + source + ": this is " + what + ", not a file."));
        fs::remove(folder.survey("fresh"));
        fs::create_symlink(folder.path() / source, folder.survey("fresh"));
        EXPECT_THAT(bounded_run(folder).said,
                    HasSubstr("fresh.json: this is " + what + ", not a file. Give the path of a survey file."));
        fs::remove(folder.survey("fresh"));
    }
    ASSERT_EQ(mkfifo((folder.path() / "stops.csvt").c_str(), 0600), 0);
    write(folder.survey("fresh"), old);
    EXPECT_THAT(
        bounded_run(folder).said,
        StartsWith("subcrop: stops.csv: 'stops.csvt', which belongs to it by its name, is a pipe, not a file."));
    fs::remove(folder.path() / "stops.csvt");
    // An older trial is quoted where it is one.
    fs::create_directories(folder.results());
    ASSERT_EQ(mkfifo((folder.results() / "trial.json").c_str(), 0600), 0);
    EXPECT_EQ(bounded_run(folder).code, 0);
}

}  // namespace
}  // namespace subcrop::test
