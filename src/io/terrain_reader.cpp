#include "subcrop/io/terrain_reader.hpp"

#include <gdal_utils.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <utility>
#include <vector>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/source_name.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

namespace {

/// Land lies between the shore of the Dead Sea and the top of Everest; a little room for ice, mines and datum.
constexpr double lowest_m = -1000, highest_m = 9000;
/// More cells than this are averaged to fewer: 900 MB.
constexpr double max_cells = 225e6;
constexpr double foot_m = 0.3048, survey_foot_m = 1200.0 / 3937.0;

struct Unit {
    std::string name;
    double metres = 1;
    bool stated = true;
};

/// Metres of a unit of height as rasters write it; absent where it is unknown.
std::optional<Unit> unit_named(std::string name) {
    name = lower(name);
    for (const char* word : {"m", "metre", "metres", "meter", "meters", "mètre"})
        if (name == word) return Unit{"metres", 1};
    for (const char* word :
         {"us-ft", "us survey foot", "us survey feet", "foot_us", "us_survey_foot", "ftus", "sft", "us foot"})
        if (name == word) return Unit{"US survey feet", survey_foot_m};
    for (const char* word : {"ft", "foot", "feet", "international foot", "international feet", "ifoot"})
        if (name == word) return Unit{"feet", foot_m};
    for (const char* word : {"cm", "centimetre", "centimeter", "centimetres", "centimeters"})
        if (name == word) return Unit{"centimetres", 0.01};
    for (const char* word : {"dm", "decimetre", "decimeter", "decimetres", "decimeters"})
        if (name == word) return Unit{"decimetres", 0.1};
    return std::nullopt;
}

class TerrainReader {
public:
    TerrainReader(const SurveyFile& file, const TerrainDescription& description, unsigned threads, ProblemLog& problems)
        : file_(file),
          description_(description),
          threads_(threads),
          problems_(problems),
          shown_(shown_source(description.source)),
          source_(open_raster(file, description)) {}

    TerrainRead read(const std::string& wanted_crs, const std::optional<Box>& wanted) {
        GdalMessages messages;
        check_heights();
        const geo::Crs own = own_crs();
        const geo::Crs target = wanted_crs.empty() ? own : geo::Crs(wanted_crs);
        if (target.geographic() || std::abs(target.metres_per_unit() - 1) > 1e-9) {
            throw Error({.source = shown_}, target.name() + " is not a projection in metres",
                        "Say in which projection the terrain is wanted, such as a UTM zone.");
        }
        TerrainRead result;
        result.crs_wkt = target.wkt();
        const Unit unit = height_unit();
        GDALDatasetUniquePtr warped;
        GDALDataset* raster = source_.get();
        if (!own.same_as(target) || !square_cells(*raster)) {
            warped = warp(own, target, wanted);
            if (!warped) {
                if (messages.failures() > 0) {
                    throw Error({.source = shown_},
                                "the terrain cannot be brought to " + target.name() + " (" + messages.last() + ")");
                }
                report(Severity::warning, "the terrain covers none of the survey; it is left out",
                       "Check the coordinate reference system of the raster, or give a raster of this area.");
                return result;
            }
            raster = warped.get();
        }
        result.terrain = cells_of(*raster, wanted, unit);
        if (messages.failures() > 0 && result.terrain) {
            throw Error({.source = shown_}, "the raster cannot be read to its end (" + messages.last() + ")",
                        "It seems damaged or cut short; copy it again.");
        }
        return result;
    }

private:
    void report(Severity severity, std::string message, std::string remedy, std::string value = {}) const {
        problems_.add({.severity = severity,
                       .source = shown_,
                       .row = std::nullopt,
                       .field = {},
                       .value = std::move(value),
                       .message = std::move(message),
                       .remedy = std::move(remedy),
                       .position = std::nullopt});
    }

    void check_heights() const {
        GDALRasterBand* band = source_->GetRasterBand(1);
        const GDALColorInterp colour = band->GetColorInterpretation();
        if (colour == GCI_RedBand || colour == GCI_PaletteIndex || GDALDataTypeIsComplex(band->GetRasterDataType())) {
            throw Error({.source = shown_}, "this is a picture, not heights",
                        "Give a raster whose first band holds heights.");
        }
        std::array<double, 6> placed{};
        if (source_->GetGeoTransform(placed.data()) != CE_None) {
            throw Error({.source = shown_}, "the raster does not say where it lies",
                        "Georeference it: save it as a GeoTIFF, or put a world file beside it.");
        }
    }

    geo::Crs own_crs() const {
        const std::string own = crs_wkt(source_->GetSpatialRef());
        if (!description_.crs.empty()) {
            try {
                return geo::Crs(description_.crs);
            } catch (const Error& problem) {
                throw Error({.source = file_.path.string(), .field = "terrain.crs"}, problem.message(),
                            problem.remedy());
            }
        }
        if (own.empty()) {
            throw Error({.source = shown_}, "it states no coordinate reference system",
                        "Add the key 'crs' to 'terrain' in the survey file.");
        }
        // Of a compound system the horizontal part: the heights' own part is a matter of their unit.
        OGRSpatialReference horizontal(*source_->GetSpatialRef());
        if (horizontal.IsCompound()) horizontal.StripVertical();
        return geo::Crs(crs_wkt(&horizontal));
    }

    Unit height_unit() const {
        GDALRasterBand* band = source_->GetRasterBand(1);
        const std::string written = band->GetUnitType();
        std::optional<Unit> own = unit_named(written);
        if (!own && written.empty() && source_->GetSpatialRef() != nullptr && source_->GetSpatialRef()->IsCompound()) {
            const char* name = nullptr;
            source_->GetSpatialRef()->GetTargetLinearUnits("VERT_CS", &name);
            if (name != nullptr) own = unit_named(name);
        }
        if (!description_.vertical_unit.empty()) {
            const Unit stated = *unit_named(description_.vertical_unit);
            if (own && std::abs(own->metres - stated.metres) > 1e-9) {
                report(Severity::warning,
                       "the raster says its heights are in " + own->name + ", the survey file that they are in " +
                           stated.name + "; the survey file is followed",
                       "Take the key 'vertical_unit' out of 'terrain' if the raster is right.");
            }
            return stated;
        }
        if (own) return *own;
        if (!written.empty()) {
            report(Severity::warning, "the unit of height is not known; metres are taken",
                   "Add the key 'vertical_unit' to 'terrain': m, ft or us-ft.", written);
        } else {
            report(Severity::note, "the raster does not say in what unit its heights are; metres are taken",
                   "Add the key 'vertical_unit' to 'terrain': m, ft or us-ft.");
        }
        return {"metres", 1, false};
    }

    static bool square_cells(GDALDataset& raster) {
        std::array<double, 6> g{};
        raster.GetGeoTransform(g.data());
        return g[2] == 0 && g[4] == 0 && g[1] > 0 && g[5] < 0 && std::abs(g[1] + g[5]) < 1e-6 * g[1];
    }

    /// The raster's rectangle in the target system, and the side of a cell with the same true area, at its middle or at
    /// the middle of the wanted part. Nothing if the two do not meet.
    std::optional<std::pair<Box, double>> extent_and_cell(OGRSpatialReference& from, OGRSpatialReference& to,
                                                          const std::optional<Box>& wanted) const {
        std::array<double, 6> g{}, inverse{};
        source_->GetGeoTransform(g.data());
        if (!GDALInvGeoTransform(g.data(), inverse.data())) return std::nullopt;
        const double columns = source_->GetRasterXSize(), rows = source_->GetRasterYSize();
        Box own;
        for (const double c : {0.0, columns}) {
            for (const double r : {0.0, rows}) own.add(Point{g[0] + c * g[1] + r * g[2], g[3] + c * g[4] + r * g[5]});
        }
        const std::unique_ptr<OGRCoordinateTransformation> forth(OGRCreateCoordinateTransformation(&from, &to));
        const std::unique_ptr<OGRCoordinateTransformation> back(OGRCreateCoordinateTransformation(&to, &from));
        Box box;
        if (!forth || !back ||
            !forth->TransformBounds(own.min_x, own.min_y, own.max_x, own.max_y, &box.min_x, &box.min_y, &box.max_x,
                                    &box.max_y, 21)) {
            return std::nullopt;
        }
        if (wanted) {
            box = {std::max(box.min_x, wanted->min_x), std::max(box.min_y, wanted->min_y),
                   std::min(box.max_x, wanted->max_x), std::min(box.max_y, wanted->max_y)};
            if (box.empty()) return std::nullopt;
        }
        double x = (box.min_x + box.max_x) / 2, y = (box.min_y + box.max_y) / 2;
        if (!back->Transform(1, &x, &y)) return std::nullopt;
        const double column = inverse[0] + x * inverse[1] + y * inverse[2],
                     row = inverse[3] + x * inverse[4] + y * inverse[5];
        std::array<double, 3> px{}, py{};
        for (std::size_t k = 0; k < 3; ++k) {
            const double c = column + (k == 1 ? 1 : 0), r = row + (k == 2 ? 1 : 0);
            px[k] = g[0] + c * g[1] + r * g[2];
            py[k] = g[3] + c * g[4] + r * g[5];
        }
        if (!forth->Transform(3, px.data(), py.data())) return std::nullopt;
        const double area = std::abs((px[1] - px[0]) * (py[2] - py[0]) - (px[2] - px[0]) * (py[1] - py[0]));
        return std::pair{box, std::sqrt(area)};
    }

    GDALDatasetUniquePtr warp(const geo::Crs& own, const geo::Crs& target, const std::optional<Box>& wanted) const {
        OGRSpatialReference from, to;
        from.importFromWkt(own.wkt().c_str());
        to.importFromWkt(target.wkt().c_str());
        from.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
        to.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
        const auto fit = extent_and_cell(from, to, wanted);
        if (!fit || !(fit->second > 0) || !std::isfinite(fit->second)) return nullptr;
        const Box& box = fit->first;
        const double cell = std::max(fit->second, std::sqrt(box.width() * box.height() / max_cells));
        const auto number = [](double value) {
            std::array<char, 40> text{};
            std::snprintf(text.data(), text.size(), "%.17g", value);
            return std::string(text.data());
        };
        CPLStringList arguments;
        for (const std::string& word : {std::string("-of"),
                                        std::string("VRT"),
                                        std::string("-s_srs"),
                                        own.wkt(),
                                        std::string("-t_srs"),
                                        target.wkt(),
                                        std::string("-r"),
                                        std::string("bilinear"),
                                        std::string("-ot"),
                                        std::string("Float32"),
                                        std::string("-dstnodata"),
                                        std::string("-3e38"),
                                        std::string("-ovr"),
                                        std::string("NONE"),
                                        std::string("-tr"),
                                        number(cell),
                                        number(cell),
                                        std::string("-te"),
                                        number(box.min_x),
                                        number(box.min_y),
                                        number(box.min_x + cell * std::max(1.0, std::floor(box.width() / cell))),
                                        number(box.min_y + cell * std::max(1.0, std::floor(box.height() / cell))),
                                        std::string("-wo"),
                                        "NUM_THREADS=" + std::to_string(thread_count(threads_))}) {
            arguments.AddString(word.c_str());
        }
        GDALWarpAppOptions* parsed = GDALWarpAppOptionsNew(arguments.List(), nullptr);
        GDALDatasetH handle = source_.get();
        GDALDatasetH made = GDALWarp("", nullptr, 1, &handle, parsed, nullptr);
        GDALWarpAppOptionsFree(parsed);
        return GDALDatasetUniquePtr(GDALDataset::FromHandle(made));
    }

    std::optional<geo::Terrain> cells_of(GDALDataset& raster, const std::optional<Box>& wanted,
                                         const Unit& unit) const {
        std::array<double, 6> g{};
        raster.GetGeoTransform(g.data());
        const double cell = g[1];
        int first_column = 0, first_row = 0, end_column = raster.GetRasterXSize(), end_row = raster.GetRasterYSize();
        if (wanted) {
            const auto clamped = [](double cells, int most) {
                return static_cast<int>(std::clamp(cells, 0.0, static_cast<double>(most)));
            };
            first_column = clamped(std::floor((wanted->min_x - g[0]) / cell), end_column);
            first_row = clamped(std::floor((g[3] - wanted->max_y) / cell), end_row);
            end_column = clamped(std::ceil((wanted->max_x - g[0]) / cell), end_column);
            end_row = clamped(std::ceil((g[3] - wanted->min_y) / cell), end_row);
        }
        if (first_column >= end_column || first_row >= end_row) {
            report(Severity::warning, "the terrain covers none of the survey; it is left out",
                   "Check the coordinate reference system of the raster, or give a raster of this area.");
            return std::nullopt;
        }
        const int wide = end_column - first_column, high = end_row - first_row;
        const double crowd = std::sqrt(static_cast<double>(wide) * high / max_cells);
        const int factor = crowd > 1 ? static_cast<int>(std::ceil(crowd)) : 1;
        const int columns = std::max(1, wide / factor), rows = std::max(1, high / factor);
        geo::HeightGrid grid(g[0] + first_column * cell, g[3] - first_row * cell, cell * factor, columns, rows);

        GDALRasterBand* own_band = source_->GetRasterBand(1);
        const double scale = own_band->GetScale() * unit.metres, offset = own_band->GetOffset() * unit.metres;
        GDALRasterBand* band = raster.GetRasterBand(1);
        GDALRasterBand* mask = band->GetMaskFlags() == GMF_ALL_VALID ? nullptr : band->GetMaskBand();
        constexpr int strip = 256;
        std::vector<float> values(static_cast<std::size_t>(columns) * strip);
        std::vector<std::uint8_t> there(mask != nullptr ? values.size() : 0);
        std::size_t known = 0, strange = 0, whole = 0;
        GDALRasterIOExtraArg averaging;
        INIT_RASTERIO_EXTRA_ARG(averaging);
        if (factor > 1) averaging.eResampleAlg = GRIORA_Average;
        for (int row = 0; row < rows; row += strip) {
            const int count = std::min(strip, rows - row);
            if (band->RasterIO(GF_Read, first_column, first_row + row * factor, columns * factor, count * factor,
                               values.data(), columns, count, GDT_Float32, 0, 0, &averaging) != CE_None ||
                (mask != nullptr &&
                 mask->RasterIO(GF_Read, first_column, first_row + row * factor, columns * factor, count * factor,
                                there.data(), columns, count, GDT_Byte, 0, 0, nullptr) != CE_None)) {
                throw Error({.source = shown_}, "the raster cannot be read to its end",
                            "It seems damaged or cut short; copy it again.");
            }
            for (int r = 0; r < count; ++r) {
                for (int c = 0; c < columns; ++c) {
                    const std::size_t i =
                        static_cast<std::size_t>(r) * static_cast<std::size_t>(columns) + static_cast<std::size_t>(c);
                    if (!std::isfinite(values[i]) || (mask != nullptr && there[i] == 0)) continue;
                    const auto written = static_cast<double>(values[i]);
                    const double height = written * scale + offset;
                    ++known;
                    if (!(height >= lowest_m && height <= highest_m)) {
                        ++strange;
                        continue;
                    }
                    whole += written == std::round(written);
                    grid.set(c, row + r, height);
                }
            }
        }
        return judged(std::move(grid), known, strange, whole, unit, std::abs(scale), factor);
    }

    std::optional<geo::Terrain> judged(geo::HeightGrid grid, std::size_t known, std::size_t strange, std::size_t whole,
                                       const Unit& unit, double step, int factor) const {
        if (known == 0) {
            report(Severity::warning, "the terrain has no heights in the area of the survey; it is left out",
                   "Give a raster of this area.");
            return std::nullopt;
        }
        if (2 * strange > known) {
            report(Severity::error,
                   "read in " + unit.name + ", most heights are outside " + std::to_string(static_cast<int>(lowest_m)) +
                       " to " + std::to_string(static_cast<int>(highest_m)) + " m; the terrain is left out",
                   "State the unit of the heights with 'vertical_unit' in 'terrain' (m, ft or us-ft), or check the "
                   "raster.");
            return std::nullopt;
        }
        if (strange > 0) {
            report(Severity::note,
                   std::to_string(strange) + (strange == 1 ? " cell has a height" : " cells have heights") +
                       " that the Earth does not have; they are taken as voids",
                   "Declare the raster's value for 'no data'.");
        }
        if (factor > 1) {
            report(Severity::note,
                   "so large a terrain is read with " + std::to_string(factor) + " by " + std::to_string(factor) +
                       " cells averaged to one",
                   "Cut the raster to the area of the survey to use all its cells.");
        }
        const bool in_steps =
            GDALDataTypeIsInteger(source_->GetRasterBand(1)->GetRasterDataType()) || whole == known - strange;
        geo::Terrain terrain(std::move(grid), in_steps ? step : 0);
        if (const double slope = median_slope(terrain); slope > 45) {
            report(Severity::warning,
                   "half of the land would slope by more than " + std::to_string(static_cast<int>(slope)) +
                       " degrees, with the heights in " + unit.name,
                   "Check the unit of the heights and state it with 'vertical_unit' in 'terrain'.");
        }
        return terrain;
    }

    static double median_slope(const geo::Terrain& terrain) {
        constexpr std::int64_t side = 48;
        const geo::HeightGrid& grid = terrain.grid();
        std::vector<double> slopes;
        for (std::int64_t r = 0; r < side; ++r) {
            for (std::int64_t c = 0; c < side; ++c) {
                const auto ground = terrain.surface(grid.centre(grid.columns() * c / side, grid.rows() * r / side));
                if (ground) slopes.push_back(ground->slope_deg);
            }
        }
        if (slopes.empty()) return 0;
        const auto middle = slopes.begin() + static_cast<std::ptrdiff_t>(slopes.size() / 2);
        std::nth_element(slopes.begin(), middle, slopes.end());
        return *middle;
    }

    const SurveyFile& file_;
    const TerrainDescription& description_;
    unsigned threads_;
    ProblemLog& problems_;
    std::string shown_;
    GDALDatasetUniquePtr source_;
};

}  // namespace

TerrainRead read_terrain(const SurveyFile& file, const TerrainDescription& description, const std::string& crs_wkt,
                         const std::optional<Box>& wanted, unsigned threads, ProblemLog& problems) {
    geo::require_proj_data();
    return TerrainReader(file, description, threads, problems).read(crs_wkt, wanted);
}

}  // namespace subcrop::io
