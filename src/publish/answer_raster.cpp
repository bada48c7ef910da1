#include "publish/answer_raster.hpp"

#include <cpl_vsi.h>
#include <gdal_priv.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <memory>
#include <ostream>
#include <string>
#include <vector>

#include "io/gdal_support.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::publish {

namespace {

constexpr float off_map = -1;
constexpr std::array<const char*, 3> band_names{"most probable unit, by its number in the legend",
                                                "probability of that unit", "entropy, bits"};

/// A file in memory, removed at the end.
class MemoryFile {
public:
    explicit MemoryFile(const void* owner)
        : name_("/vsimem/answer_" + std::to_string(reinterpret_cast<std::uintptr_t>(owner)) + ".tif") {}
    ~MemoryFile() { VSIUnlink(name_.c_str()); }
    MemoryFile(const MemoryFile&) = delete;
    MemoryFile& operator=(const MemoryFile&) = delete;
    const char* name() const { return name_.c_str(); }

private:
    std::string name_;
};

[[noreturn]] void fail(const std::filesystem::path& target, const std::string& what) {
    throw Error({.source = target.string()}, "the raster could not be made: " + what,
                "Is there room in memory? Ask for larger cells.");
}

}  // namespace

void write_answer_raster(const std::filesystem::path& target, const model::Survey& survey, const geo::UnitMap& map,
                         const std::function<void(Point, std::span<float>)>& probability_at,
                         const AnswerRaster& options, io::PendingFiles& together) {
    const Box extent = map.extent();
    const double cell = options.cell_m, west = std::floor(extent.min_x / cell) * cell,
                 north = std::ceil(extent.max_y / cell) * cell;
    const double across = std::ceil((extent.max_x - west) / cell), down = std::ceil((north - extent.min_y) / cell);
    if (!(across * down <= static_cast<double>(max_cells))) {
        const double least =
            std::ceil(std::sqrt(extent.width() * extent.height() / static_cast<double>(max_cells)) + 1);
        throw Error({.source = target.string()},
                    "cells of " + std::to_string(std::llround(cell)) + " m would make a raster of more than 50 million",
                    "Ask for cells of " + std::to_string(std::llround(least)) + " m or more.");
    }
    const auto columns = static_cast<std::size_t>(std::max(across, 1.0)),
               rows = static_cast<std::size_t>(std::max(down, 1.0));
    std::array<std::vector<float>, 3> bands;
    for (std::vector<float>& band : bands) band.assign(columns * rows, off_map);
    parallel_blocks(rows, 4, options.threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<float> p(survey.units.size());
        for (std::size_t row = begin; row < end; ++row) {
            for (std::size_t column = 0; column < columns; ++column) {
                const Point place{west + (static_cast<double>(column) + 0.5) * cell,
                                  north - (static_cast<double>(row) + 0.5) * cell};
                if (map.unit_at(place) == model::no_unit) continue;
                probability_at(place, p);
                const auto best = std::max_element(p.begin(), p.end());
                double entropy = 0;
                for (const float share : p)
                    if (share > 0) entropy -= static_cast<double>(share) * std::log2(static_cast<double>(share));
                const std::size_t i = row * columns + column;
                bands[0][i] = static_cast<float>(best - p.begin() + 1);
                bands[1][i] = *best;
                bands[2][i] = static_cast<float>(std::max(entropy, 0.0));
            }
        }
    });

    io::start_gdal();
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
    if (driver == nullptr) fail(target, "GDAL lacks its GeoTIFF driver");
    const MemoryFile file(&bands);
    const char* settings[] = {"COMPRESS=DEFLATE", "TILED=YES", "INTERLEAVE=BAND", nullptr};
    {
        const std::unique_ptr<GDALDataset, void (*)(GDALDataset*)> raster(
            driver->Create(file.name(), static_cast<int>(columns), static_cast<int>(rows), 3, GDT_Float32,
                           const_cast<char**>(settings)),
            [](GDALDataset* one) { GDALClose(one); });
        if (!raster) fail(target, CPLGetLastErrorMsg());
        std::array<double, 6> transform{west, cell, 0, north, 0, -cell};
        raster->SetGeoTransform(transform.data());
        OGRSpatialReference crs;
        if (crs.importFromWkt(survey.crs_wkt.c_str()) == OGRERR_NONE) raster->SetSpatialRef(&crs);
        for (std::size_t u = 0; u < survey.units.size(); ++u)
            raster->SetMetadataItem(("unit_" + std::to_string(u + 1)).c_str(),
                                    (survey.units[u].code + ": " + survey.units[u].name).c_str());
        for (int b = 0; b < 3; ++b) {
            GDALRasterBand* band = raster->GetRasterBand(b + 1);
            band->SetDescription(band_names[static_cast<std::size_t>(b)]);
            band->SetNoDataValue(static_cast<double>(off_map));
            if (band->RasterIO(GF_Write, 0, 0, static_cast<int>(columns), static_cast<int>(rows),
                               bands[static_cast<std::size_t>(b)].data(), static_cast<int>(columns),
                               static_cast<int>(rows), GDT_Float32, 0, 0, nullptr) != CE_None)
                fail(target, CPLGetLastErrorMsg());
        }
    }
    vsi_l_offset size = 0;
    const GByte* bytes = VSIGetMemFileBuffer(file.name(), &size, FALSE);
    if (bytes == nullptr) fail(target, "nothing was written");
    together.write(target, [&](std::ostream& out) {
        out.write(reinterpret_cast<const char*>(bytes), static_cast<std::streamsize>(size));
    });
}

}  // namespace subcrop::publish
