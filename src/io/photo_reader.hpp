// Photographs of a folder: what their EXIF says, and small copies of them. The originals are only read.
//
//     std::vector<Photo> photos = read_photos(file, problems);
//     std::string jpeg = thumbnail(photos[0], 240);
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct Photo {
    std::filesystem::path path;
    std::string name;                     ///< of the file
    std::optional<Point> degrees;         ///< WGS 84 longitude, latitude
    std::optional<double> direction_deg;  ///< in which it looks, clockwise from north
    std::string taken;                    ///< "2026-05-12 10:22:31", by the camera's clock; empty: not stated
    int turn_deg = 0;                     ///< clockwise, to have its top above: 0, 90, 180 or 270
};

/// The JPEG files of the survey's photo folder, in the order of their names. A file that is none becomes a problem.
/// Throws Error where there is no such folder.
std::vector<Photo> read_photos(const SurveyFile& file, ProblemLog& problems);

/// Places from the track, by the time taken, for those that state none.
void place_by_time(std::vector<Photo>& photos, const SurveyFile& file);

/// A JPEG with this maximum of pixels in both directions, upright, without EXIF; empty if it cannot be made.
std::string thumbnail(const Photo& photo, int max_pixels);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
