#include "io/own_sources.hpp"

#include <sys/stat.h>

#include <optional>
#include <utility>

#include "io/decision_file.hpp"
#include "io/nearest_name.hpp"
#include "io/source_name.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

using Inode = std::pair<dev_t, ino_t>;

/// What a path leads to, by links too; nothing where there is no such file.
std::optional<Inode> inode_of(const fs::path& path) {
    struct stat found {};
    if (::stat(path.c_str(), &found) != 0) return std::nullopt;
    return Inode{found.st_dev, found.st_ino};
}

fs::path true_path(const fs::path& path) {
    std::error_code failure;
    const fs::path found = fs::weakly_canonical(fs::absolute(path), failure);
    return failure ? fs::absolute(path).lexically_normal() : found;
}

}  // namespace

std::vector<OwnSource> files_of(const std::string& what, const std::string& source, const fs::path& path) {
    std::vector<OwnSource> files{{what, source, path}};
    const std::string ending = lower(path.extension().string());
    if (ending == ".shp" || ending == ".shx" || ending == ".dbf") {
        for (const char* part : {".shp", ".shx", ".dbf", ".prj", ".cpg", ".qix", ".sbn", ".sbx"})
            files.push_back({what, source, fs::path(path).replace_extension(part)});
    } else {
        files.push_back({what, source, fs::path(path).replace_extension(".prj")});
    }
    for (const char* journal : {"-journal", "-wal", "-shm"}) files.push_back({what, source, path.string() + journal});
    return files;
}

std::vector<OwnSource> sources_of(const SurveyFile& survey) {
    std::vector<OwnSource> files{{"survey file", survey.path.filename().string(), survey.path}};
    const fs::path folder = fs::absolute(survey.path).parent_path();
    const auto add = [&](const char* what, const SourceDescription& source) {
        if (is_connection(source.source, folder)) return;
        const std::vector<OwnSource> more = files_of(what, source.source, resolved_source(survey, source.source));
        files.insert(files.end(), more.begin(), more.end());
    };
    add("stops", survey.stops);
    if (survey.horizons) add("horizons", *survey.horizons);
    if (survey.map) add("map", *survey.map);
    if (survey.legend) add("legend", *survey.legend);
    if (survey.terrain) add("terrain", *survey.terrain);
    if (survey.boreholes) add("boreholes", *survey.boreholes);
    if (survey.borehole_logs) add("logs of the boreholes", *survey.borehole_logs);
    if (survey.attitudes) add("attitudes", *survey.attitudes);
    if (survey.plants) add("names of plants", *survey.plants);
    if (survey.names) add("names of rocks, minerals and landforms", *survey.names);
    if (survey.parent_material_weights) add("weights", *survey.parent_material_weights);
    if (survey.waypoints) add("waypoints", *survey.waypoints);
    if (survey.photos)
        files.push_back({"photographs", survey.photos->folder, resolved_source(survey, survey.photos->folder)});
    if (survey.tracks) add("tracks", *survey.tracks);
    if (survey.no_go) add("no-go area", *survey.no_go);
    return files;
}

std::vector<OwnSource> files_of(const SurveyFile& survey) {
    std::vector<OwnSource> files = sources_of(survey);
    for (const fs::path& decisions : {decisions_file(survey), decision_table(survey)}) {
        const std::vector<OwnSource> more = files_of("decisions", decisions.filename().string(), decisions);
        files.insert(files.end(), more.begin(), more.end());
    }
    return files;
}

void refuse_to_replace(const std::vector<OwnSource>& sources, const std::vector<fs::path>& written) {
    struct Known {
        fs::path path;
        std::optional<Inode> inode;
        bool folder;
    };
    std::vector<Known> known;
    for (const OwnSource& source : sources) {
        std::error_code failure;
        known.push_back({true_path(source.path), inode_of(source.path), fs::is_directory(source.path, failure)});
    }
    for (const fs::path& target : written) {
        const fs::path path = true_path(target);
        const std::optional<Inode> inode = inode_of(target), folder = inode_of(path.parent_path());
        for (std::size_t i = 0; i < sources.size(); ++i) {
            const bool same = known[i].path == path || (inode && known[i].inode == inode) ||
                              (known[i].folder && folder && known[i].inode == folder);
            if (!same) continue;
            const OwnSource& source = sources[i];
            throw Error({.source = target.string()}, "this would replace the " + source.what + " it comes from",
                        "Name another folder or file. The " + source.what +
                            (source.what == "survey file" ? " is '" : " would be read from '") + source.source + "'.");
        }
    }
}

}  // namespace subcrop::io
