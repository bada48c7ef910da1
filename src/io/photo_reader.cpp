#include "io/photo_reader.hpp"

#include <gdal_priv.h>
#include <gdal_utils.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <system_error>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/safe_source.hpp"
#include "io/timed_track.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/field/written_date.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

/// A larger picture would take longer than all else.
constexpr double max_pixels_read = 3e8;

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

void place_by_time(std::vector<Photo>& photos, const SurveyFile& file) {
    const TimedTrack track = read_timed_track(file);
    if (track.empty()) return;
    for (Photo& photo : photos) {
        const auto seconds = field::seconds_of(photo.taken);
        if (photo.degrees || !seconds) continue;
        photo.degrees = track.at(*seconds - std::llround(*file.waypoints->utc_offset_h * 3600));
    }
}

namespace {

/// The picture smaller, in memory; null where that cannot be.
GDALDatasetUniquePtr reduced(GDALDataset& photo, int max_pixels) {
    const bool wide = photo.GetRasterXSize() >= photo.GetRasterYSize();
    const std::string side =
        std::to_string(std::min(max_pixels, wide ? photo.GetRasterXSize() : photo.GetRasterYSize()));
    CPLStringList words;
    for (const std::string& word :
         std::vector<std::string>{"-of", "MEM", "-r", "average", "-outsize", wide ? side : "0", wide ? "0" : side})
        words.AddString(word.c_str());
    GDALTranslateOptions* options = GDALTranslateOptionsNew(words.List(), nullptr);
    if (options == nullptr) return nullptr;
    GDALDatasetH made = GDALTranslate("", GDALDataset::ToHandle(&photo), options, nullptr);
    GDALTranslateOptionsFree(options);
    return GDALDatasetUniquePtr(GDALDataset::FromHandle(made));
}

/// Its pixels alone, turned clockwise.
GDALDatasetUniquePtr turned(GDALDataset& picture, int degrees) {
    const int width = picture.GetRasterXSize(), height = picture.GetRasterYSize(), bands = picture.GetRasterCount();
    const bool across = degrees == 90 || degrees == 270;
    const int new_width = across ? height : width, new_height = across ? width : height;
    GDALDriver* memory = GetGDALDriverManager()->GetDriverByName("MEM");
    GDALDatasetUniquePtr result(memory->Create("", new_width, new_height, bands, GDT_Byte, nullptr));
    if (!result) return nullptr;
    const auto index = [](int x, int y, int of_width) {
        return static_cast<std::size_t>(y) * static_cast<std::size_t>(of_width) + static_cast<std::size_t>(x);
    };
    std::vector<GByte> from(index(0, height, width)), to(from.size());
    for (int band = 1; band <= bands; ++band) {
        if (picture.GetRasterBand(band)->RasterIO(GF_Read, 0, 0, width, height, from.data(), width, height, GDT_Byte, 0,
                                                  0, nullptr) != CE_None)
            return nullptr;
        for (int y = 0; y < height; ++y) {
            for (int x = 0; x < width; ++x) {
                const int new_x = degrees == 90    ? height - 1 - y
                                  : degrees == 180 ? width - 1 - x
                                  : degrees == 270 ? y
                                                   : x;
                const int new_y = degrees == 90    ? x
                                  : degrees == 180 ? height - 1 - y
                                  : degrees == 270 ? width - 1 - x
                                                   : y;
                to[index(new_x, new_y, new_width)] = from[index(x, y, width)];
            }
        }
        if (result->GetRasterBand(band)->RasterIO(GF_Write, 0, 0, new_width, new_height, to.data(), new_width,
                                                  new_height, GDT_Byte, 0, 0, nullptr) != CE_None)
            return nullptr;
    }
    return result;
}

}  // namespace

std::string thumbnail(const Photo& photo, int max_pixels) {
    GdalMessages messages;
    const GDALDatasetUniquePtr opened = open_photo(photo.path);
    if (!opened) return {};
    const double pixels = static_cast<double>(opened->GetRasterXSize()) * opened->GetRasterYSize();
    if (pixels > max_pixels_read) return {};
    const GDALDatasetUniquePtr small = reduced(*opened, max_pixels);
    const GDALDatasetUniquePtr upright = small ? turned(*small, photo.turn_deg) : nullptr;
    if (!upright) return {};
    const char* const target = "/vsimem/subcrop_thumbnail.jpg";
    CPLStringList options;
    options.SetNameValue("QUALITY", "70");
    GDALDatasetUniquePtr made(GetGDALDriverManager()->GetDriverByName("JPEG")->CreateCopy(
        target, upright.get(), false, options.List(), nullptr, nullptr));
    const bool whole = made != nullptr;
    made.reset();
    vsi_l_offset size = 0;
    GByte* bytes = VSIGetMemFileBuffer(target, &size, TRUE);
    std::string jpeg;
    if (whole && bytes != nullptr) jpeg.assign(reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size));
    VSIFree(bytes);
    return jpeg;
}

}  // namespace subcrop::io
