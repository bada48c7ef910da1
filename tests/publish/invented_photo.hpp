// A photograph such as a telephone takes: a JPEG with place, time and direction in its EXIF.
#pragma once

#include <gdal_priv.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace subcrop::publish::test {

/// "50 33 16.669"
inline std::string exif_angle(double degrees) {
    const double whole = std::floor(std::abs(degrees)), minutes = (std::abs(degrees) - whole) * 60;
    std::array<char, 64> text{};
    std::snprintf(text.data(), text.size(), "%.0f %.0f %.4f", whole, std::floor(minutes),
                  (minutes - std::floor(minutes)) * 60);
    return text.data();
}

/// `exif` without the names' "EXIF_".
inline void write_photo(const std::filesystem::path& file, const std::map<std::string, std::string>& exif,
                        int width = 640, int height = 480) {
    GDALAllRegister();
    const GDALDatasetUniquePtr raster(
        GetGDALDriverManager()->GetDriverByName("MEM")->Create("", width, height, 3, GDT_Byte, nullptr));
    for (int band = 1; band <= 3; ++band) raster->GetRasterBand(band)->Fill(60.0 * band);
    for (const auto& [name, value] : exif) raster->SetMetadataItem(("EXIF_" + name).c_str(), value.c_str());
    const GDALDatasetUniquePtr copy(GetGDALDriverManager()->GetDriverByName("JPEG")->CreateCopy(
        file.c_str(), raster.get(), false, nullptr, nullptr, nullptr));
    ASSERT_TRUE(copy);
}

inline std::map<std::string, std::string> exif_of(double latitude, double longitude) {
    return {{"GPSLatitudeRef", latitude < 0 ? "S" : "N"},
            {"GPSLatitude", exif_angle(latitude)},
            {"GPSLongitudeRef", longitude < 0 ? "W" : "E"},
            {"GPSLongitude", exif_angle(longitude)},
            {"GPSImgDirection", "215"},
            {"DateTimeOriginal", "2026:05:12 10:22:31"}};
}

}  // namespace subcrop::publish::test
