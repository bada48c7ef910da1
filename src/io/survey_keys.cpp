#include "io/survey_keys.hpp"

namespace subcrop::io {

const std::vector<SurveyKey>& survey_keys() {
    static const std::vector<SurveyKey> keys{
        {"title", "", "Title of the survey."},
        {"crs", "from the map",
         "Coordinate reference system of the results: a projection in metres, such as EPSG:32631."},
        {"stops", "",
         "Table of stops, the only key that every survey needs: {\"source\": \"stops.csv\", \"x\": \"lon\", \"y\": "
         "\"lat\"}. Here and in every other table \"where\" chooses rows: \"date >= '2026-05-01'\"."},
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
         "What your other names mean: columns kind (rock, mineral or landform), written and meant, such as "
         "rock,greenstone,basalt."},
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

std::vector<std::string> names_of(const std::vector<SurveyKey>& keys) {
    std::vector<std::string> names;
    for (const SurveyKey& key : keys) names.emplace_back(key.name);
    return names;
}

}  // namespace subcrop::io
