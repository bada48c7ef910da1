#include "io/photo_reader.hpp"

#include <gdal_priv.h>
#include <gdal_utils.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <memory>
#include <system_error>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/safe_source.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

/// A larger picture would take longer than all else.
constexpr double most_pixels_read = 3e8;

GDALDatasetUniquePtr open_photo(const fs::path& path) {
    static constexpr std::array<const char*, 2> drivers = {"JPEG", nullptr};
    // An overview or side file could lead elsewhere: none is looked for.
    return GDALDatasetUniquePtr(GDALDataset::Open(path.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY, drivers.data(),
                                                  nullptr, std::array<const char*, 1>{nullptr}.data()));
}

std::string item(GDALDataset& photo, const char* name) {
    const char* value = photo.GetMetadataItem(name);
    return value != nullptr ? value : "";
}

/// The numbers of "(56) (13) (49.2)".
std::vector<double> numbers(const std::string& text) {
    std::vector<double> all;
    for (const char* at = text.c_str(); *at != 0;) {
        char* end = nullptr;
        const double value = std::strtod(at, &end);
        if (end == at) {
            ++at;
            continue;
        }
        all.push_back(value);
        at = end;
    }
    return all;
}

std::optional<double> angle(GDALDataset& photo, const std::string& key, char negative, double most) {
    const std::vector<double> parts = numbers(item(photo, key.c_str()));
    if (parts.empty() || parts.size() > 3) return std::nullopt;
    double value = 0, unit = 1;
    for (const double part : parts) {
        if (!(part >= 0) || part > most) return std::nullopt;
        value += part / unit;
        unit *= 60;
    }
    if (value > most) return std::nullopt;
    const std::string side = item(photo, (key + "Ref").c_str());
    if (side.empty()) return std::nullopt;  // north or south, east or west: not to be guessed
    return side[0] == negative ? -value : value;
}

/// "2026-05-12 10:22:31" of "2026:05:12 10:22:31".
std::string time_taken(std::string text) {
    if (text.size() < 19 || text[4] != ':' || text[7] != ':') return {};
    text.resize(19);
    text[4] = text[7] = '-';
    return text.find_first_not_of("0123456789-: ") == std::string::npos ? text : std::string();
}

}  // namespace

std::vector<Photo> read_photos(const SurveyFile& file, ProblemLog& problems) {
    start_gdal();
    const fs::path folder = resolved_source(file, file.photos->folder);
    std::error_code failure;
    if (!fs::is_directory(folder, failure))
        throw Error({.source = file.photos->folder}, "there is no such folder",
                    "A path is taken from the survey file's folder.");
    std::vector<fs::path> paths;
    for (const auto& entry : fs::directory_iterator(folder, failure)) {
        const std::string ending = lower(entry.path().extension().string());
        if (ending == ".jpg" || ending == ".jpeg") paths.push_back(entry.path());
    }
    std::sort(paths.begin(), paths.end());
    std::vector<Photo> photos;
    const auto leave_out = [&](const fs::path& path, std::string message, std::string remedy) {
        problems.add({.severity = Severity::warning,
                      .source = file.photos->folder,
                      .row = std::nullopt,
                      .field = {},
                      .value = path.filename().string(),
                      .message = std::move(message),
                      .remedy = std::move(remedy),
                      .position = std::nullopt});
    };
    for (const fs::path& path : paths) {
        GdalMessages messages;
        if (!fs::is_regular_file(path, failure)) {
            leave_out(path, "this is no file; it is left out", "Copy the photograph itself into the folder.");
            continue;
        }
        const GDALDatasetUniquePtr opened = open_photo(path);
        if (!opened) {
            leave_out(path, "the photograph cannot be opened; it is left out", "Copy it again from the camera.");
            continue;
        }
        Photo photo;
        photo.path = path;
        photo.name = path.filename().string();
        opened->GetMetadata();  // has the driver read the EXIF
        const auto latitude = angle(*opened, "EXIF_GPSLatitude", 'S', 90),
                   longitude = angle(*opened, "EXIF_GPSLongitude", 'W', 180);
        if (latitude && longitude) photo.degrees = Point{*longitude, *latitude};
        if (const std::vector<double> direction = numbers(item(*opened, "EXIF_GPSImgDirection"));
            direction.size() == 1 && direction[0] >= 0 && direction[0] <= 360)
            photo.direction_deg = direction[0];
        photo.taken = time_taken(item(*opened, "EXIF_DateTimeOriginal"));
        if (photo.taken.empty()) photo.taken = time_taken(item(*opened, "EXIF_DateTime"));
        const std::string orientation = item(*opened, "EXIF_Orientation");
        photo.turn_deg = orientation == "3" ? 180 : orientation == "6" ? 90 : orientation == "8" ? 270 : 0;
        photos.push_back(std::move(photo));
    }
    return photos;
}

std::string thumbnail(const Photo& photo, int most_pixels) {
    GdalMessages messages;
    const GDALDatasetUniquePtr opened = open_photo(photo.path);
    if (!opened) return {};
    const double pixels = static_cast<double>(opened->GetRasterXSize()) * opened->GetRasterYSize();
    if (pixels > most_pixels_read) return {};
    const bool wide = opened->GetRasterXSize() >= opened->GetRasterYSize();
    const std::string side =
        std::to_string(std::min(most_pixels, wide ? opened->GetRasterXSize() : opened->GetRasterYSize()));
    CPLStringList words;
    for (const std::string& word :
         std::vector<std::string>{"-of", "JPEG", "-co", "QUALITY=70", "-co", "WRITE_EXIF_METADATA=NO", "-nomd", "-r",
                                  "average", "-outsize", wide ? side : "0", wide ? "0" : side})
        words.AddString(word.c_str());
    GDALTranslateOptions* options = GDALTranslateOptionsNew(words.List(), nullptr);
    const char* const target = "/vsimem/subcrop_thumbnail.jpg";
    GDALDatasetH made = GDALTranslate(target, GDALDataset::ToHandle(opened.get()), options, nullptr);
    GDALTranslateOptionsFree(options);
    if (made == nullptr) return {};
    GDALClose(made);
    vsi_l_offset size = 0;
    GByte* bytes = VSIGetMemFileBuffer(target, &size, TRUE);
    std::string jpeg(reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size));
    VSIFree(bytes);
    VSIUnlink((std::string(target) + ".aux.xml").c_str());
    return jpeg;
}

}  // namespace subcrop::io
