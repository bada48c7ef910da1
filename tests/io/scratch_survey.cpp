#include "io/scratch_survey.hpp"

#include <gdal_utils.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>

#include "io/gdal_support.hpp"

namespace subcrop::io {

const char* const two_squares = R"({"type": "FeatureCollection",
 "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}}, "features": [
 {"type": "Feature", "properties": {"unit": "Kd"}, "geometry": {"type": "Polygon", "coordinates":
  [[[500000, 5200000], [501000, 5200000], [501000, 5201000], [500000, 5201000], [500000, 5200000]]]}},
 {"type": "Feature", "properties": {"unit": "Jl"}, "geometry": {"type": "Polygon", "coordinates":
  [[[501000, 5200000], [502000, 5200000], [502000, 5201000], [501000, 5201000], [501000, 5200000]]]}}]})";

const char* const two_squares_json = R"("map": {"source": "map.geojson", "contact_sd_m": 30})";

ScratchFolder::ScratchFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "subcrop-io-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no scratch folder");
    path_ = pattern;
}

ScratchFolder::~ScratchFolder() {
    std::error_code failure;
    std::filesystem::remove_all(path_, failure);
}

std::filesystem::path ScratchFolder::write(const std::string& name, std::string_view bytes) const {
    std::ofstream(path_ / name, std::ios::binary) << bytes;
    return path_ / name;
}

void ScratchFolder::translate(const std::string& geojson, const std::string& driver, const std::string& name,
                              const std::vector<std::string>& options) const {
    start_gdal();
    const std::string from = write("translated.geojson", geojson).string();
    const GDALDatasetUniquePtr input(GDALDataset::Open(from.c_str(), GDAL_OF_VECTOR));
    ASSERT_TRUE(input) << from;
    CPLStringList arguments;
    arguments.AddString("-f");
    arguments.AddString(driver.c_str());
    for (const std::string& option : options) arguments.AddString(option.c_str());
    GDALVectorTranslateOptions* parsed = GDALVectorTranslateOptionsNew(arguments.List(), nullptr);
    GDALDatasetH source = input.get();
    const GdalMessages quiet;
    GDALDatasetH output = GDALVectorTranslate((path_ / name).c_str(), nullptr, 1, &source, parsed, nullptr);
    GDALVectorTranslateOptionsFree(parsed);
    ASSERT_NE(output, nullptr) << quiet.last();
    GDALClose(output);
    std::filesystem::remove(from);
}

ReadSurvey read_all(const ScratchFolder& folder, std::string_view json, unsigned threads) {
    ProblemLog log;
    Progress silent;
    ReadSurvey result;
    result.survey = read_survey(read_survey_file(folder.write("survey.json", json)), threads, log, silent);
    result.problems = log.sorted();
    return result;
}

std::string error_of(const ScratchFolder& folder, std::string_view json) {
    try {
        read_all(folder, json);
    } catch (const Error& error) {
        std::string text = error.what();
        const std::string place = folder.path().string() + "/";
        for (auto at = text.find(place); at != std::string::npos; at = text.find(place)) text.erase(at, place.size());
        return text;
    }
    ADD_FAILURE() << "no error from " << json;
    return {};
}

std::string line_of(const Problem& problem) {
    std::string line(to_string(problem.severity));
    line += ' ' + problem.source;
    if (problem.row) line += ' ' + std::to_string(*problem.row);
    if (!problem.field.empty()) line += ' ' + problem.field;
    if (!problem.value.empty()) line += " '" + problem.value + "'";
    line += ": " + problem.message;
    if (!problem.remedy.empty()) line += " | " + problem.remedy;
    return line;
}

std::vector<std::string> lines_of(const std::vector<Problem>& problems) {
    std::vector<std::string> lines;
    for (const Problem& problem : problems) lines.push_back(line_of(problem));
    return lines;
}

}  // namespace subcrop::io
