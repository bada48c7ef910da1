#include "subcrop/io/survey_file.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "io/json_object.hpp"
#include "io/nearest_name.hpp"
#include "io/source_name.hpp"
#include "io/standard_columns.hpp"
#include "io/survey_keys.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

using Range = JsonObject::Range;

std::vector<std::string> joined(const std::vector<std::string>& a, const std::vector<std::string>& b) {
    std::vector<std::string> all = a;
    all.insert(all.end(), b.begin(), b.end());
    return all;
}

class Reader {
public:
    explicit Reader(const std::filesystem::path& path) : path_(path), file_(path.string()) {}

    SurveyFile read() {
        const auto json = parse_json_file(path_);
        const JsonObject top(json, file_, "", names_of(survey_keys()));
        SurveyFile survey;
        survey.path = path_;
        survey.title = top.text("title");
        survey.credits = top.text("credits");
        survey.crs = top.text("crs");
        if (!top.has("stops")) {
            top.fail("stops", "this key is missing", R"(Name the table of stops: "stops": {"source": "stops.csv"}.)");
        }
        survey.stops = source(top, "stops", {}, joined(stop_columns(), horizon_columns()));
        if (top.has("horizons")) {
            survey.horizons = source(top, "horizons", {"x", "y", "crs"}, joined({"stop"}, horizon_columns()));
            for (const std::string& name : horizon_columns()) {
                if (survey.stops.columns.contains(name)) {
                    top.fail("stops.columns." + name,
                             "horizon columns are read from the horizon table where there is one",
                             "Name the column under 'horizons' instead.");
                }
                if (survey.stops.units.contains(name)) {
                    top.fail("stops." + std::string(unit_key_of(name)->key),
                             "horizon columns are read from the horizon table where there is one",
                             "State the unit under 'horizons' instead.");
                }
            }
        }
        if (top.has("map")) survey.map = map(top);
        if (top.has("legend")) survey.legend = source(top, "legend", {"x", "y", "crs"}, legend_columns());
        if (top.has("terrain")) survey.terrain = terrain(top);
        if (top.has("boreholes")) survey.boreholes = source(top, "boreholes", {}, borehole_columns());
        if (top.has("borehole_logs")) {
            if (!survey.boreholes) {
                top.fail("borehole_logs", "there are logs, but no boreholes",
                         R"(Name their table: "boreholes": {"source": "boreholes.csv"}.)");
            }
            survey.borehole_logs = source(top, "borehole_logs", {"x", "y", "crs"}, joined({"hole"}, horizon_columns()));
        }
        if (top.has("attitudes")) survey.attitudes = source(top, "attitudes", {}, attitude_columns());
        if (top.has("plants")) survey.plants = source(top, "plants", {"x", "y", "crs"}, plant_columns());
        if (top.has("names")) survey.names = source(top, "names", {"x", "y", "crs"}, kind_columns());
        if (top.has("parent_material_weights")) {
            survey.parent_material_weights =
                source(top, "parent_material_weights", {"x", "y", "crs"}, parent_material_columns());
        }
        if (top.has("waypoints")) survey.waypoints = waypoints(top);
        if (top.has("photos")) survey.photos = photos(top);
        if (top.has("tracks")) survey.tracks = tracks(top);
        if (top.has("no_go")) survey.no_go = source(top, "no_go", {"x", "y", "columns", "header_row"}, {});
        if (top.has("evidence")) survey.evidence = evidence(top);
        survey.carry = carried(top);
        if (top.has("settings")) survey.settings = settings(top);
        const std::string results = top.text("results");
        survey.results = folder() / (results.empty() ? "results" : results);
        survey.results = survey.results.lexically_normal();
        return survey;
    }

private:
    std::filesystem::path folder() const { return std::filesystem::absolute(path_).parent_path(); }

    /// `unused`: keys of a source that mean nothing here.
    SourceDescription source(const JsonObject& top, const std::string& key, const std::vector<std::string>& unused,
                             const std::vector<std::string>& our_columns,
                             const std::vector<std::string>& more_keys = {}) const {
        std::vector<std::string> keys;
        for (const char* name : {"source", "layer", "crs", "x", "y", "zone", "columns", "header_row", "where"}) {
            const char* with = name == std::string_view("zone") ? "x" : name;  // no zone without coordinates
            if (std::find(unused.begin(), unused.end(), with) == unused.end()) keys.emplace_back(name);
        }
        keys.insert(keys.end(), more_keys.begin(), more_keys.end());
        for (const UnitKey* unit : unit_keys_of(our_columns)) keys.emplace_back(unit->key);
        const JsonObject object(top.at(key), file_, key, keys);
        SourceDescription description;
        if (!object.has("source")) {
            object.fail("source", "this key is missing", "Give the path of the file to read.");
        }
        description.source = object.text("source");
        if (const std::string refusal = refusal_of_source(description.source, folder()); !refusal.empty()) {
            object.fail("source", refusal, "Copy the data to a file beside the survey file and name that.");
        }
        description.layer = object.text("layer");
        description.crs = object.text("crs");
        description.where = object.text("where");
        description.x = object.text("x");
        description.y = object.text("y");
        if (description.x.empty() != description.y.empty()) {
            object.fail(description.x.empty() ? "x" : "y", "this key is missing", "Coordinates need both 'x' and 'y'.");
        }
        description.zone = object.text("zone");
        if (!description.zone.empty() && description.x.empty())
            object.fail("zone", "there are no coordinates for it", "Name their columns by 'x' and 'y'.");
        if (const auto row = object.whole_number("header_row")) {
            if (*row < 1 || *row > max_header_row)
                object.fail("header_row", "this is no row that may have the names of the columns",
                            "Count the rows as a spreadsheet does, from 1.");
            description.header_row = *row;
        }
        if (object.has("columns")) {
            const JsonObject columns(object.at("columns"), file_, object.path_of("columns"), our_columns);
            for (const std::string& name : our_columns) {
                if (columns.has(name)) description.columns[name] = columns.text(name);
            }
        }
        for (const UnitKey* unit : unit_keys_of(our_columns)) {
            const std::string word = object.word(unit->key, unit->units);
            if (word.empty()) continue;
            for (const std::string& name : unit->columns) description.units[name] = word;
        }
        return description;
    }

    static std::vector<const UnitKey*> unit_keys_of(const std::vector<std::string>& our_columns) {
        std::vector<const UnitKey*> keys;
        for (const UnitKey& key : unit_keys()) {
            if (std::find(our_columns.begin(), our_columns.end(), key.columns.front()) != our_columns.end() ||
                std::find(our_columns.begin(), our_columns.end(), key.columns.back()) != our_columns.end())
                keys.push_back(&key);
        }
        return keys;
    }

    MapDescription map(const JsonObject& top) const {
        MapDescription description;
        static_cast<SourceDescription&>(description) =
            source(top, "map", {"x", "y", "header_row"}, map_columns(), {"contact_sd_m"});
        const JsonObject object(top.at("map"), file_, "map",
                                {"source", "layer", "crs", "columns", "where", "contact_sd_m"});
        description.contact_sd_m = object.metres("contact_sd_m", model::min_contact_sd_m, model::max_contact_sd_m);
        return description;
    }

    TerrainDescription terrain(const JsonObject& top) const {
        TerrainDescription description;
        static_cast<SourceDescription&>(description) =
            source(top, "terrain", {"x", "y", "layer", "columns", "header_row", "where"}, {}, {"vertical_unit"});
        const JsonObject object(top.at("terrain"), file_, "terrain", {"source", "crs", "vertical_unit"});
        description.vertical_unit = object.word("vertical_unit", {"m", "ft", "us-ft"});
        return description;
    }

    TracksDescription tracks(const JsonObject& top) const {
        TracksDescription description;
        static_cast<SourceDescription&>(description) =
            source(top, "tracks", {"x", "y", "columns", "header_row"}, {}, {"within_m"});
        description.within_m =
            JsonObject(top.at("tracks"), file_, "tracks", {"source", "layer", "crs", "where", "within_m"})
                .number("within_m", Range::any_above_zero);
        return description;
    }

    WaypointsDescription waypoints(const JsonObject& top) const {
        WaypointsDescription description;
        static_cast<SourceDescription&>(description) = source(top, "waypoints", {}, {"name"}, {"utc_offset_h"});
        const JsonObject object(
            top.at("waypoints"), file_, "waypoints",
            {"source", "layer", "crs", "x", "y", "zone", "columns", "header_row", "where", "utc_offset_h"});
        description.utc_offset_h = object.number("utc_offset_h", Range::any);
        if (std::abs(description.utc_offset_h.value_or(0)) > 14)
            object.fail("utc_offset_h", "no clock is more than 14 hours from UTC",
                        "Write the hours by which it is ahead, such as 2.");
        return description;
    }

    PhotosDescription photos(const JsonObject& top) const {
        const JsonObject object(top.at("photos"), file_, "photos", {"folder", "within_m"});
        PhotosDescription description;
        if (!object.has("folder"))
            object.fail("folder", "this key is missing", "Give the path of the folder with the photographs.");
        description.folder = object.text("folder");
        if (const std::string refusal = refusal_of_source(description.folder, folder()); !refusal.empty())
            object.fail("folder", refusal, "Copy the photographs to a folder beside the survey file and name that.");
        description.within_m = object.number("within_m", Range::any_above_zero).value_or(description.within_m);
        return description;
    }

    std::vector<model::EvidenceDefinition> evidence(const JsonObject& top) const {
        if (!top.at("evidence").is_array()) {
            top.fail("evidence", "a list in square brackets is expected here",
                     R"(Write [{"name": "xrf", "kind": "numeric", "columns": ["Ni", "Cr"]}].)");
        }
        std::vector<model::EvidenceDefinition> result;
        std::set<std::string> names;
        for (std::size_t i = 0; i < top.at("evidence").size(); ++i) {
            const JsonObject object(top.at("evidence")[i], file_, "evidence[" + std::to_string(i) + "]",
                                    {"name", "kind", "columns", "scale"});
            model::EvidenceDefinition definition;
            definition.name = object.text("name", true);
            if (!names.insert(definition.name).second) {
                object.fail("name", "two channels of evidence are named '" + definition.name + "'",
                            "Rename one of them.");
            }
            if (!object.has("kind")) {
                object.fail("kind", "this key is missing", "Choices: numeric, category, set, composition.");
            }
            const std::string kind = object.word("kind", {"numeric", "category", "set", "composition"});
            definition.kind = kind == "numeric"    ? model::EvidenceKind::numeric
                              : kind == "category" ? model::EvidenceKind::category
                              : kind == "set"      ? model::EvidenceKind::set
                                                   : model::EvidenceKind::composition;
            definition.columns = object.texts("columns", true);
            check_columns(object, definition);
            const std::string scale = object.word("scale", {"linear", "log"});
            if (!scale.empty() && definition.kind != model::EvidenceKind::numeric) {
                object.fail("scale", "only numeric evidence has a scale", "Leave the key out.");
            }
            definition.scale = scale == "log" ? model::Scale::log : model::Scale::linear;
            result.push_back(std::move(definition));
        }
        return result;
    }

    static void check_columns(const JsonObject& object, const model::EvidenceDefinition& definition) {
        const auto& columns = definition.columns;
        if (columns.empty()) object.fail("columns", "the list is empty", "Name at least one column of the stop table.");
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (std::find(columns.begin(), columns.begin() + static_cast<std::ptrdiff_t>(i), columns[i]) !=
                columns.begin() + static_cast<std::ptrdiff_t>(i)) {
                object.fail("columns", "the column '" + columns[i] + "' is named twice", "Keep one of the two.");
            }
        }
        if (definition.kind == model::EvidenceKind::composition && columns.size() < 2) {
            object.fail("columns", "a composition has two parts or more", "Name the columns of all its parts.");
        }
        if (definition.kind == model::EvidenceKind::category && columns.size() != 1) {
            object.fail("columns", "a category is read from one column", "Write one channel for each column.");
        }
    }

    static std::vector<std::string> carried(const JsonObject& top) {
        std::vector<std::string> columns = top.texts("carry", false);
        std::set<std::string> names;
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (!names.insert(lower(columns[i])).second)
                top.fail("carry[" + std::to_string(i) + "]", "the column '" + columns[i] + "' is named twice",
                         "Keep one of the two.");
        }
        return columns;
    }

    model::Settings settings(const JsonObject& top) const {
        const JsonObject object(top.at("settings"), file_, "settings", names_of(settings_keys()));
        model::Settings s;
        s.default_position_sd_m =
            object.metres("default_position_sd_m", 0, model::max_position_sd_m).value_or(s.default_position_sd_m);
        s.false_discovery_rate = object.number("false_discovery_rate", Range::share).value_or(s.false_discovery_rate);
        s.draft_error_share = object.number("draft_error_share", Range::share).value_or(s.draft_error_share);
        if (const auto certainty = object.number("seen_rock_certainty", Range::share)) {
            // At 1 a single mistake would make the whole draft impossible. Below one half observed bedrock would
            // support another unit.
            if (*certainty < 0.5 || *certainty > 0.9999) {
                object.fail("seen_rock_certainty",
                            "observed bedrock is named rightly more often than not, but never for certain",
                            "Write a number from 0.5 to 0.9999, or leave the key out (0.98).");
            }
            s.seen_rock_certainty = *certainty;
        }
        s.block_m = object.number("block_m", Range::zero_or_above).value_or(s.block_m);
        const std::string rows = object.word("evidence", {"automatic", "top", "all", "none"});
        s.evidence = rows == "top"    ? model::EvidenceRows::top
                     : rows == "all"  ? model::EvidenceRows::all
                     : rows == "none" ? model::EvidenceRows::none
                                      : model::EvidenceRows::automatic;
        s.allow_ballpark = object.boolean("allow_ballpark").value_or(s.allow_ballpark);
        s.seed = object.whole_number("seed").value_or(s.seed);
        if (object.has("creep")) s.creep = creep(object);
        s.move_contacts = object.boolean("move_contacts");
        s.follow_traverses = object.boolean("follow_traverses");
        if (const auto count = object.whole_number("next_stops")) {
            if (*count > 1000)
                object.fail("next_stops", "more than 1000 are no plan for a day", "Write a number from 0 to 1000.");
            s.next_stops = *count;
        }
        return s;
    }

    model::CreepSettings creep(const JsonObject& settings) const {
        const JsonObject object(settings.at("creep"), file_, settings.path_of("creep"),
                                {"length_m", "steepest", "thickness_cm", "curvature_m"});
        model::CreepSettings c;
        c.length_m = object.number("length_m", Range::zero_or_above);
        c.steepest = object.number("steepest", Range::any_above_zero).value_or(c.steepest);
        c.thickness_cm = object.number("thickness_cm", Range::zero_or_above).value_or(c.thickness_cm);
        c.curvature_m = object.number("curvature_m", Range::zero_or_above).value_or(c.curvature_m);
        return c;
    }

    static constexpr std::size_t max_header_row = 1000;
    std::filesystem::path path_;
    std::string file_;
};

}  // namespace

SurveyFile read_survey_file(const std::filesystem::path& path) { return Reader(path).read(); }

std::string resolved_source(const SurveyFile& file, const std::string& source) {
    const std::filesystem::path folder = std::filesystem::absolute(file.path).parent_path();
    if (is_connection(source, folder)) return source;
    return (folder / source).lexically_normal().string();
}

}  // namespace subcrop::io
