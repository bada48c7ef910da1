#include "io/survey_keys.hpp"

#include <algorithm>

namespace subcrop::io {

const std::vector<SurveyKey>& survey_keys() {
    static const std::vector<SurveyKey> keys{
        {"title", "", "Title of the survey."},
        {"crs", "from the map",
         "Coordinate reference system of the results: a projection in metres, such as EPSG:32631."},
        {"stops", "",
         "Table of stops, the only key that every survey needs: {\"source\": \"stops.csv\", \"x\": \"lon\", \"y\": "
         "\"lat\"}."},
        {"horizons", "", "Table of horizons. Without it the horizon columns are read from the stops."},
        {"map", "",
         "Draft map. Its contact_sd_m is the standard error of a drawn contact, 1 to 5000 metres. Without a draft a "
         "first map is drawn."},
        {"legend", "", "Table of map units. Without it the units are taken from the map."},
        {"terrain", "", "Raster of heights. vertical_unit is m, ft or us-ft if the raster does not say."},
        {"boreholes", "", "Boreholes: points, with depths in metres."},
        {"borehole_logs", "", "Horizons of the boreholes."},
        {"attitudes", "", "Strikes and dips. With a terrain they tell the shape of contacts between bedrock units."},
        {"plants", "",
         "What your plant names mean: columns written and taxon (empty: no plant), such as ling,Calluna vulgaris."},
        {"names", "",
         "What your other names mean: columns kind (rock, mineral, landform, texture, reaction or mottles), written "
         "and "
         "meant, such as rock,greenstone,basalt or reaction,strong fizz,ST."},
        {"parent_material_weights", "",
         "How much a cue supports each parent material: columns cue, word, residuum, colluvium, alluvium, aeolian, "
         "glacial, lacustrine, organic. 1 or empty says nothing, 10 is clear."},
        {"waypoints", "",
         "GPX file. Stops without a place take the place of the waypoint with their name. utc_offset_h (hours that "
         "your clocks are ahead of UTC) also places stops and photographs by time."},
        {"photos", "",
         "{\"folder\": \"photos\", \"within_m\": 50}: photographs for the cards of stops and the chapter, matched by "
         "name or by place."},
        {"tracks", "", "Lines to which next stops keep, with within_m."},
        {"no_go", "", "Polygons that next stops and the walk avoid."},
        {"evidence", "",
         "Your own evidence: a list of name, kind (numeric, category, set, composition), columns and scale (linear, "
         "log)."},
        {"carry", "", "Columns of the stop table that stop_fit keeps as text, such as [\"observer\", \"photo\"]."},
        {"settings", "", "Settings, listed below."},
        {"results", "results", "Folder of the results."},
        {"credits", "", "Credits for the map sheet."},
    };
    return keys;
}

const std::vector<SurveyKey>& source_keys() {
    static const std::vector<SurveyKey> keys{
        {"source", "", "The file, or a connection to a database. Its path starts at the folder of the survey file."},
        {"layer", "the only one", "Layer of the file, sheet of a spreadsheet."},
        {"crs", "the layer's own", "Coordinate reference system, such as EPSG:4326 for degrees of a receiver."},
        {"x", "", "Column of east or longitude."},
        {"y", "", "Column of north or latitude. If both are in one cell, the same column as x."},
        {"zone", "", "Column of the UTM zone of x and y, written with its band, such as 31V."},
        {"columns", "",
         "Your names of our columns: {\"colour_moist\": \"Farbe\"}. If horizons stand side by side in the "
         "row of their stop, # is the number of the horizon: {\"top_cm\": \"h#_top\"}."},
        {"header_row", "1",
         "Row of a CSV or spreadsheet that has the names of the columns. Rows above it are not read."},
        {"where", "", "Condition that chooses rows: \"date >= '2026-05-01'\"."},
        {"depth_unit", "cm, of holes m",
         "Unit of your depths: mm, cm, dm, m, in or ft. A column whose name ends in a unit needs no such key: top_ft, "
         "depth (in)."},
        {"jar_unit", "mm", "Unit of the layers of the jar test: mm, cm or in."},
        {"slope_unit", "deg", "Unit of slopes: deg or percent."},
        {"position_sd_unit", "m", "Unit of the standard errors of position: cm, m or ft."},
        {"vertical_unit", "m",
         "Unit of heights, of a terrain or of the collars of boreholes: m, ft or us-ft. A raster mostly says it "
         "itself."},
    };
    return keys;
}

const std::vector<SurveyKey>& settings_keys() {
    static const std::vector<SurveyKey> keys{
        {"default_position_sd_m", "10", "Standard error of position of a stop that states none, 0 to 1000 metres."},
        {"false_discovery_rate", "0.10", "Share of false flags accepted among the conflicts."},
        {"draft_error_share", "0.05", "Share of the area where the draft may show the wrong unit away from contacts."},
        {"seen_rock_certainty", "0.98", "Probability that observed bedrock was named rightly, 0.5 to 0.9999."},
        {"block_m", "chosen", "Side of the blocks of stops that are hidden together in cross-validation."},
        {"evidence", "automatic",
         "Rows of stop_evidence: top, all, none. automatic: top up to 100,000 stops, then none."},
        {"allow_ballpark", "false", "Accept a coordinate operation without the datum shift it needs."},
        {"seed", "1", "Seed of random numbers."},
        {"move_contacts", "true up to 200,000 stops", "Whether contacts may move."},
        {"follow_traverses", "true up to 200,000 stops", "Whether traverses are followed from unit to unit."},
        {"next_stops", "10, above 200,000 stops 0", "How many next stops are suggested, at most 1000."},
        {"creep", "learnt from the stops",
         "How far soil creeps downslope. {\"length_m\": 25} is for a slope of 0.2 with less than 50 cm of cover; 0: "
         "none. steepest 0.3, thickness_cm 43 and curvature_m 25 say how it changes with slope, depth to rock and "
         "hollows."},
    };
    return keys;
}

const std::vector<UnitKey>& unit_keys() {
    static const std::vector<UnitKey> keys{
        {"depth_unit",
         {"top_cm", "bottom_cm", "weathered_rock_m", "rock_m", "end_m"},
         {"mm", "cm", "dm", "m", "in", "ft"}},
        {"vertical_unit", {"collar_height_m"}, {"m", "ft", "us-ft"}},
        {"position_sd_unit", {"position_sd_m"}, {"cm", "m", "ft"}},
        {"slope_unit", {"slope_deg"}, {"deg", "percent"}},
        {"jar_unit", {"jar_sand_mm", "jar_silt_mm", "jar_clay_mm"}, {"mm", "cm", "in"}},
    };
    return keys;
}

std::string UnitKey::word_for(Unit unit) const {
    const auto found =
        std::find_if(units.begin(), units.end(), [&](const std::string& word) { return unit_named(word) == unit; });
    return found == units.end() ? std::string() : *found;
}

const UnitKey* unit_key_of(std::string_view our_column) {
    for (const UnitKey& key : unit_keys())
        if (std::find(key.columns.begin(), key.columns.end(), our_column) != key.columns.end()) return &key;
    return nullptr;
}

std::vector<std::string> names_of(const std::vector<SurveyKey>& keys) {
    std::vector<std::string> names;
    for (const SurveyKey& key : keys) names.emplace_back(key.name);
    return names;
}

}  // namespace subcrop::io
