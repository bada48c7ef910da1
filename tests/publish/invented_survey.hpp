// A small invented survey on disk: two units side by side along x = 500500, brown loam with heather over SND in the
// west, red clay with ash over MUD in the east; every 25th stop is the other way round, and rock was seen there that
// says so.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>

namespace subcrop::publish::test {

namespace fs = std::filesystem;

/// A folder of its own that goes when the object does.
class TemporaryFolder {
public:
    explicit TemporaryFolder(const std::string& parent) {
        std::string pattern = parent + "subcrop_XXXXXX";
        path_ = mkdtemp(pattern.data());
    }
    ~TemporaryFolder() { fs::remove_all(path_); }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

struct InventedSurvey {
    int stops = 150;
    std::string settings = R"({"evidence": "top"})";
    bool mistakes = false;  ///< two bad records
};

inline void write_file(const fs::path& file, const std::string& text) { std::ofstream(file) << text; }

/// Writes survey.json and its sources into the folder; returns the survey file.
inline fs::path write_survey(const fs::path& folder, const InventedSurvey& wanted = {}) {
    std::mt19937_64 random(
        7);  // its sequence is fixed by the standard; what is drawn from it below is plain arithmetic
    const auto share = [&random] { return static_cast<double>(random() >> 11U) * 0x1.0p-53; };
    std::string stops = "stop,traverse,x,y,position_sd_m,colour_moist,texture,plants,unit_seen\n";
    for (int i = 0; i < wanted.stops; ++i) {
        const double x = 500000 + share() * 1000, y = 5600000 + share() * 1000;
        const bool otherwise = i % 25 == 7;
        const bool west = (x < 500500) != otherwise;
        const bool odd = share() < 0.05;
        const char* colour = west != odd ? "10YR 4/3" : "2.5YR 4/6";
        const char* texture = west != odd ? "L" : "C";
        stops += "S" + std::to_string(i + 1) + ",T" + std::to_string(i % 5 + 1) + ',' + std::to_string(x) + ',' +
                 std::to_string(y) + ",8," + colour + ',' + texture + ',' + (west ? "heather" : "ash") +
                 (otherwise ? (west ? ",SND\n" : ",MUD\n") : ",\n");
    }
    if (wanted.mistakes) {
        stops += "B1,T1,500100,5600100,8,10XR 4/3,L,heather,\n";
        stops += "B2,T1,,5600100,8,10YR 4/3,L,heather,\n";
    }
    write_file(folder / "stops.csv", stops);
    write_file(folder / "legend.csv", "unit,name\nSND,Brown sandstone\nMUD,Red mudstone\n");
    write_file(folder / "map.geojson", R"({"type":"FeatureCollection",
"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}},"features":[
{"type":"Feature","properties":{"unit":"SND"},"geometry":{"type":"Polygon","coordinates":[[[500000,5600000],[500500,5600000],[500500,5601000],[500000,5601000],[500000,5600000]]]}},
{"type":"Feature","properties":{"unit":"MUD"},"geometry":{"type":"Polygon","coordinates":[[[500500,5600000],[501000,5600000],[501000,5601000],[500500,5601000],[500500,5600000]]]}}]})");
    write_file(folder / "survey.json", R"({"title": "Two hills",
"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
"map": {"source": "map.geojson", "contact_sd_m": 20},
"legend": {"source": "legend.csv"},
"settings": )" + wanted.settings + R"(,
"results": "results"})");
    return folder / "survey.json";
}

}  // namespace subcrop::publish::test
