// A whole survey in memory, in one working projection, as the readers return it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/text.hpp"
#include "subcrop/field/kind_names.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/model/borehole.hpp"
#include "subcrop/model/column_names.hpp"
#include "subcrop/model/creep_settings.hpp"
#include "subcrop/model/legend.hpp"
#include "subcrop/model/stop.hpp"
#include "subcrop/model/stop_terrain.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Which rows of evidence `stop_evidence` keeps.
enum class EvidenceRows : std::uint8_t { automatic, top, all, none };

/// Maximum standard error of a position, metres. Beyond it a stop could lie anywhere on a map.
inline constexpr double max_position_sd_m = 1000;
/// Minimum and maximum standard error of a drawn contact, metres. No contact drawn by hand is known to less than a
/// metre.
inline constexpr double min_contact_sd_m = 1;
inline constexpr double max_contact_sd_m = 5000;

/// What a survey file may set under `settings`. Defaults in place.
struct Settings {
    double default_position_sd_m = 10;   ///< for a stop that states none; handheld receiver, common practice, no source
    double false_discovery_rate = 0.10;  ///< share of false flags accepted among `conflicts`
    double draft_error_share = 0.05;     ///< share of the area where the draft shows the wrong unit away from contacts
    double seen_rock_certainty = 0.98;   ///< probability that observed bedrock was named correctly
    double block_m = 0;                  ///< side of a block; 0 chooses it from the survey
    EvidenceRows evidence = EvidenceRows::automatic;  ///< automatic: top up to 100,000 stops, none above
    bool allow_ballpark = false;  ///< accept coordinate operations without the datum shift they need
    std::uint64_t seed = 1;       ///< for everything drawn at random
    CreepSettings creep;          ///< where the survey has a terrain
    /// Whether contacts may be moved and traverses are followed; left open: up to `max_walked_stops`.
    std::optional<bool> move_contacts, follow_traverses;
    static constexpr std::size_t max_walked_stops = 200'000;
    bool moves_contacts(std::size_t stops) const { return move_contacts.value_or(stops <= max_walked_stops); }
    bool finds_patches(std::size_t stops) const { return stops <= max_walked_stops || move_contacts.value_or(false); }
    /// How many next stops are suggested; left open: 10 up to `max_walked_stops`.
    std::optional<std::size_t> next_stops;
    std::size_t suggested_stops(std::size_t stops) const {
        return next_stops.value_or(stops <= max_walked_stops ? 10 : 0);
    }
    bool follows_traverses(std::size_t stops) const { return follow_traverses.value_or(stops <= max_walked_stops); }
};

enum class EvidenceKind : std::uint8_t { numeric, category, set, composition };
enum class Scale : std::uint8_t { linear, log };

/// An extra channel of evidence from columns of the stop table.
struct EvidenceDefinition {
    std::string name;
    EvidenceKind kind = EvidenceKind::numeric;
    std::vector<std::string> columns;
    Scale scale = Scale::linear;
};

/// Its values: one row a stop, one column each of `definition.columns`, row-major.
struct EvidenceValues {
    EvidenceDefinition definition;
    std::vector<std::optional<double>> numbers;  ///< numeric, composition
    std::vector<Text> texts;                     ///< category, set
};

/// A column of the stop table that is copied to the results as read.
struct CarriedColumn {
    std::string name;          ///< as the survey file writes it
    std::vector<Text> values;  ///< one a stop; empty for a borehole whose table lacks the column
};

/// One polygon of the draft map; a multipolygon's parts are several of these with the same row.
struct MapPolygon {
    UnitIndex unit = no_unit;
    std::int64_t row = 0;  ///< feature id in the map source
    Polygon polygon;       ///< working projection, rings closed, valid
};

/// The operation that brought one source into the working projection.
struct CoordinateOperation {
    std::string source;  ///< file and layer
    std::string from;    ///< name of the source's coordinate reference system
    std::string to;
    std::string name;                  ///< PROJ's name of the operation
    std::optional<double> accuracy_m;  ///< published accuracy; absent: unknown
    bool ballpark = false;
};

/// Where every stop's soil comes from, if creep has this length.
struct CreepPaths {
    double length_m = 0;  ///< as CreepSettings has it
    /// One list a stop: places upslope from which equal parts of its soil come; empty if soil lies where it formed.
    std::vector<std::vector<Point>> soil_from;
};

struct Survey {
    std::string title;
    std::string crs_wkt;  ///< the working projection, metres
    std::string crs_name;
    std::shared_ptr<TextPool> texts;  ///< owns every Text below
    std::vector<LegendUnit> units;
    std::vector<Stop> stops;
    std::vector<Horizon> horizons;    ///< grouped by stop
    std::vector<Borehole> boreholes;  ///< of the last stops, in their order
    std::vector<Attitude> attitudes;
    std::vector<StopTerrain> terrain;  ///< one a stop; empty: the survey has no terrain
    std::vector<CreepPaths> creep;     ///< lengths to try; a single one is used without a test; none without a terrain
    std::vector<MapPolygon> map;
    double contact_sd_m = 25;  ///< standard error of a drafted contact
    std::vector<Line> tracks;  ///< next stops keep within `track_reach_m` of these; empty: anywhere
    double track_reach_m = 100;
    std::vector<Polygon> no_go;  ///< and out of these
    std::vector<EvidenceValues> evidence;
    std::vector<CarriedColumn> carried;
    std::vector<CoordinateOperation> operations;
    std::string stop_source;     ///< as problems name it
    std::string horizon_source;  ///< equal to stop_source if the stops have their own horizon columns
    std::string map_source;
    std::string borehole_source;
    std::string borehole_log_source;  ///< empty: logs stand among the horizons
    std::string attitude_source;
    ColumnNames borehole_columns;
    ColumnNames borehole_log_columns;
    ColumnNames stop_columns;  ///< as the user calls them
    ColumnNames horizon_columns;
    Settings settings;
    field::PlantNames plant_names;               ///< the user's synonyms
    field::KindNames kind_names;                 ///< the same of rocks, minerals and landforms
    field::ParentMaterialTable parent_material;  ///< the defaults, with the user's weights in their place

    /// The log of this stop's borehole; null if it is none.
    const Borehole* borehole(std::size_t stop) const {
        const std::size_t first = stops.size() - boreholes.size();
        return stop < first ? nullptr : &boreholes[stop - first];
    }
    /// Where the stop was read, as problems name it, and what its columns are called there.
    const std::string& source_of(std::size_t stop) const {
        return borehole(stop) != nullptr ? borehole_source : stop_source;
    }
    const ColumnNames& columns_of(std::size_t stop) const {
        return borehole(stop) != nullptr ? borehole_columns : stop_columns;
    }
    /// The same of its horizons.
    const std::string& horizon_source_of(std::size_t stop) const {
        return borehole_log_source.empty() || borehole(stop) == nullptr ? horizon_source : borehole_log_source;
    }
    const ColumnNames& horizon_columns_of(std::size_t stop) const {
        return borehole_log_source.empty() || borehole(stop) == nullptr ? horizon_columns : borehole_log_columns;
    }
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
