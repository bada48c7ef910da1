// What stands in each layer of results.gpkg, in words a geologist reads in a GIS.
#include <array>
#include <unordered_set>
#include <utility>

#include "io/decision_file.hpp"
#include "io/nearest_name.hpp"
#include "publish/first_map_words.hpp"
#include "publish/unit_table.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

namespace {

using io::CodedValue;
using io::Domain;
using io::FieldType;
using io::GeometryKind;

Domain verdict_domain() {
    Domain domain{.name = "verdict"};
    for (std::size_t i = 0; i < infer::verdict_count; ++i) {
        const auto verdict = static_cast<infer::Verdict>(i);
        domain.codes.push_back({std::string(to_string(verdict)), std::string(description(verdict))});
    }
    return domain;
}

Domain review_domain() {
    Domain domain{.name = "review"};
    using infer::Review;
    for (const Review review : {Review::supported, Review::shift, Review::doubtful, Review::untested})
        domain.codes.push_back({std::string(to_string(review)), std::string(description(review))});
    return domain;
}

Domain confidence_domain() {
    Domain domain{.name = "confidence"};
    for (const auto value : {infer::Confidence::certain, infer::Confidence::questionable})
        domain.codes.push_back({std::string(to_string(value)), std::string(description(value))});
    return domain;
}

Domain location_class_domain() {
    Domain domain{.name = "location_class"};
    using infer::LocationClass;
    for (const auto value : {LocationClass::accurate, LocationClass::approximate, LocationClass::inferred, LocationClass::concealed})
        domain.codes.push_back({std::string(to_string(value)), std::string(description(value))});
    return domain;
}

Domain crossing_status_domain() {
    Domain domain{.name = "crossing_status"};
    for (std::size_t i = 0; i < infer::crossing_status_count; ++i) {
        const auto status = static_cast<infer::CrossingStatus>(i);
        domain.codes.push_back({std::string(to_string(status)), std::string(description(status))});
    }
    return domain;
}

Domain revised_source_domain() {
    Domain domain{.name = "revised_source"};
    for (std::size_t i = 0; i < infer::revised_source_count; ++i) {
        const auto source = static_cast<infer::RevisedSource>(i);
        domain.codes.push_back({std::string(to_string(source)), std::string(description(source))});
    }
    return domain;
}

Domain proposal_kind_domain() {
    Domain domain{.name = "proposal_kind"};
    for (std::size_t i = 0; i < infer::proposal_kind_count; ++i) {
        const auto kind = static_cast<infer::ProposalKind>(i);
        domain.codes.push_back({std::string(to_string(kind)), std::string(description(kind))});
    }
    return domain;
}

Domain change_domain() {
    Domain domain{.name = "change"};
    for (std::size_t i = 0; i < change_kind_count; ++i) {
        const auto kind = static_cast<ChangeKind>(i);
        domain.codes.push_back({std::string(to_string(kind)), std::string(description(kind))});
    }
    return domain;
}

Domain severity_domain() {
    return {.name = "severity",
            .codes = {{std::string(to_string(Severity::error)), "The record as a whole could not be used"},
                      {std::string(to_string(Severity::warning)), "One value was left out; the rest of the record was used"},
                      {std::string(to_string(Severity::note)), "Read in a way worth knowing; nothing was lost"}}};
}

std::string meaning(field::ParentMaterial kind) {
    switch (kind) {
        case field::ParentMaterial::residuum: return "Weathered in place from the rock below";
        case field::ParentMaterial::colluvium: return "Moved down the slope";
        case field::ParentMaterial::alluvium: return "Laid down by running water";
        case field::ParentMaterial::aeolian: return "Blown in, such as loess or dune sand";
        case field::ParentMaterial::glacial: return "Laid down by ice or its meltwater, such as till";
        case field::ParentMaterial::lacustrine: return "Laid down in a lake";
        case field::ParentMaterial::organic: return "Peat or other plant remains";
    }
    return {};
}

Domain parent_material_domain() {
    Domain domain{.name = "parent_material"};
    for (std::size_t i = 0; i < field::parent_material_count; ++i) {
        const auto kind = static_cast<field::ParentMaterial>(i);
        domain.codes.push_back({std::string(to_string(kind)), meaning(kind)});
    }
    return domain;
}

Domain stop_kind_domain() {
    return {.name = "stop_kind",
            .codes = {{"stop", "A stop of the field book"}, {"borehole", "A borehole, at its collar"}}};
}

Domain unit_domain(const model::Survey& survey) {
    Domain domain{.name = "unit"};
    std::unordered_set<std::string> seen;
    for (const model::LegendUnit& unit : survey.units)
        if (seen.insert(unit.code).second) domain.codes.push_back({unit.code, unit.name.empty() ? unit.code : unit.name});
    return domain;
}

/// Under its own name, or with "_noted" where `stop_fit` has another column of that name.
void add_carried(const model::Survey& survey, io::LayerDefinition& layer) {
    std::unordered_set<std::string> taken{"fid", "geom"};
    for (const io::FieldDefinition& field : layer.fields) taken.insert(field.name);
    for (const model::CarriedColumn& column : survey.carried) {
        std::string name = column.name;
        while (!taken.insert(io::lower(name)).second) name += "_noted";
        layer.fields.push_back({.name = name,
                                .type = FieldType::text,
                                .description = "Column '" + column.name + "' of the stops, as it was read."});
    }
}

io::LayerDefinition stop_fit_layer(const model::Survey& survey) {
    io::LayerDefinition layer{
        .name = "stop_fit",
        .title = "Stops: which unit the soil fits",
        .description =
            "Each stop of the survey with the mapped unit its soil fits best, and whether the draft map agrees.",
        .geometry = GeometryKind::point,
        .fields = {
            {.name = "stop", .type = FieldType::text, .description = "Identifier of the stop, as in the field book."},
            {.name = "traverse", .type = FieldType::text, .description = "Traverse to which the stop belongs."},
            {.name = "mapped_unit",
             .type = FieldType::text,
             .description = "Unit that the draft map shows here; empty off the map.",
             .domain = "unit"},
            {.name = "fitted_unit",
             .type = FieldType::text,
             .description = "The most probable unit, soil and draft map together.",
             .domain = "unit"},
            {.name = "p_mapped",
             .type = FieldType::real,
             .description = "Probability of the mapped unit, soil and draft map together; 0 to 1.",
             .domain = "share"},
            {.name = "p_fitted",
             .type = FieldType::real,
             .description = "Probability of the fitted unit; 0 to 1.",
             .domain = "share"},
            {.name = "soil_log10_odds",
             .type = FieldType::real,
             .description =
                 "How much more probable the notes are over the fitted than over the mapped unit, without the "
                 "draft map: decimal logarithm of the ratio; 2 is a hundredfold."},
            {.name = "typicality",
             .type = FieldType::real,
             .description = "Share of the fitted unit's own stops whose soil is at least as unusual as this; 0 to 1.",
             .domain = "share"},
            {.name = "verdict",
             .type = FieldType::text,
             .description = "What the stop says of the draft map.",
             .domain = "verdict"},
            {.name = "contact_distance_m",
             .type = FieldType::real,
             .description = "Distance to the nearest drafted contact, metres; empty where none is within reach."},
            {.name = "neighbour_unit",
             .type = FieldType::text,
             .description = "Unit across the nearest drafted contact.",
             .domain = "unit"},
            {.name = "position_sd_m",
             .type = FieldType::real,
             .description =
                 "Standard error of the stop's position, that of the coordinate operation included, metres."},
            {.name = "parent_material",
             .type = FieldType::text,
             .description = "What the soil most probably formed from.",
             .domain = "parent_material"},
            {.name = "p_transported",
             .type = FieldType::real,
             .description = "Probability that the soil did not form from the rock below; 0 to 1.",
             .domain = "share"},
            {.name = "kind",
             .type = FieldType::text,
             .description = "A stop of the field book, or a borehole.",
             .domain = "stop_kind"},
            {.name = "rock_depth_cm",
             .type = FieldType::real,
             .description = "Depth to rock, weathered or not, by the log of a borehole, centimetres."},
            {.name = "slope_deg",
             .type = FieldType::real,
             .description =
                 "Slope of the ground by the terrain, degrees; by the field book where there is no terrain."},
            {.name = "landform",
             .type = FieldType::text,
             .description = "Landform by the field book, or by the terrain where the field book has none."},
            {.name = "creep_m",
             .type = FieldType::real,
             .description =
                 "How far up the slope its soil came from on average, metres; empty where soil was not followed."},
            {.name = "upslope_unit",
             .type = FieldType::text,
             .description = "Unit up the slope from which part of its soil came, by the draft.",
             .domain = "unit"},
            {.name = "upslope_share",
             .type = FieldType::real,
             .description = "Share of its soil that came from that unit, by the draft; 0 to 1.",
             .domain = "share"},
            {.name = "reason",
             .type = FieldType::text,
             .description = "The strongest evidence behind the verdict, in one sentence."},
            {.name = "unit_seen",
             .type = FieldType::text,
             .description = "Unit whose bedrock was observed here.",
             .domain = "unit"},
            {.name = "date",
             .type = FieldType::text,
             .description = "Date of the visit: year, month and day where it could be read so, else as written."},
            {.name = "notes", .type = FieldType::text, .description = "Notes, as in the field book."},
        }};
    add_carried(survey, layer);
    return layer;
}

io::LayerDefinition stop_evidence_layer() {
    return {.name = "stop_evidence",
            .title = "Stops: the reckoning",
            .description = "What each kind of evidence says at each stop; joins to stop_fit by stop. Empty where the survey's "
                           "settings ask for none, or leave the choice open and it has over 100,000 stops.",
            .geometry = GeometryKind::none,
            .fields = {
                {.name = "stop", .type = FieldType::text, .description = "Identifier of the stop, as in stop_fit."},
                {.name = "unit", .type = FieldType::text, .description = "Unit of which this row speaks.", .domain = "unit"},
                {.name = "channel", .type = FieldType::text, .description = "Kind of evidence."},
                {.name = "log_likelihood", .type = FieldType::real,
                 .description = "Natural logarithm of how probable the value is over this unit, relative to the average over "
                                "the units; above 0 speaks for the unit."},
                {.name = "weight", .type = FieldType::real,
                 .description = "Factor by which the row counts, because kinds of evidence repeat one another; 0 to 1.",
                 .domain = "share"},
            }};
}

io::LayerDefinition contact_review_layer() {
    return {.name = "contact_review",
            .title = "Contacts: reviewed by the soil",
            .description = "Each stretch of drafted contact between two units, with the stops near it that speak for and "
                           "against it.",
            .geometry = GeometryKind::line,
            .fields = {
                {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "stops_for", .type = FieldType::integer,
                 .description = "Number of stops near the contact whose soil agrees with it."},
                {.name = "stops_against", .type = FieldType::integer,
                 .description = "Number of stops near the contact whose soil fits the unit of the other side better."},
                {.name = "log10_odds_against", .type = FieldType::real,
                 .description = "Sum over these stops of the decimal logarithm of the odds of the other side's unit; above 0 "
                                "speaks against the contact."},
                {.name = "shift_m", .type = FieldType::real,
                 .description = "How far it should move along its normal, mean over its length, metres; above 0 into the ground of "
                                "unit_b, below 0 into that of unit_a. Empty where contacts were left as drafted."},
                {.name = "shift_sd_m", .type = FieldType::real,
                 .description = "Standard error of the shift at one place of it, root mean square over its length, metres."},
                {.name = "shift_azimuth_deg", .type = FieldType::real,
                 .description = "Direction in which it should move, degrees clockwise from the grid north of the layer's "
                                "coordinate system."},
                {.name = "p_moved", .type = FieldType::real,
                 .description = "Probability that it lies farther from its drafted place than the standard error stated for "
                                "drafted contacts (contact_sd_m), mean over its length; 0 to 1.", .domain = "share"},
                {.name = "elsewhere_m", .type = FieldType::real,
                 .description = "Length along which its drafted place lies outside the ground that holds it with 90 percent, metres; 0 where the "
                                "ground on one side is disputed and like the other (disputed_ground), so that it is perhaps not there."},
                {.name = "elsewhere_by_m", .type = FieldType::real,
                 .description = "How far it runs from its drafted place along that length, mean, metres. Empty where it nowhere does."},
                {.name = "review", .type = FieldType::text,
                 .description = "What the stops say of the contact; shift where p_moved is over 0.8, doubtful where the ground on one side is disputed "
                                "and like the other.", .domain = "review"},
            }};
}

io::LayerDefinition relocated_contacts_layer() {
    return {.name = "relocated_contacts",
            .title = "Contacts: where they should run",
            .description = "Each drafted contact where the stops say that it runs; at its drafted place where held-out ground "
                           "asked for no move. Lines are cut finer where they bend.",
            .geometry = GeometryKind::line,
            .fields = {
                {.name = "contact", .type = FieldType::integer, .description = "Feature id in contact_review."},
                {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "location_confidence_m", .type = FieldType::real,
                 .description = "Half-width of the zone that holds the contact with 90 percent probability, root mean square along "
                                "it, metres; relative to the map's other features, so without the error of the base map."},
                {.name = "existence_confidence", .type = FieldType::text,
                 .description = "Whether there is a contact: questionable where at least 3 stops on one side fit the other side's "
                                "unit with 0.8 or more, and more of them than fit their own, or where the ground on one side is disputed and like "
                                "the other.",
                 .domain = "confidence"},
                {.name = "identity_confidence", .type = FieldType::text,
                 .description = "Whether it divides these two units: certain where on both sides more stops fit the side's unit "
                                "with 0.8 or more than fit any other; questionable otherwise, also where there are no stops.",
                 .domain = "confidence"},
                {.name = "location_class", .type = FieldType::text,
                 .description = "How its place is known. The map's stated zone is 1.645 contact_sd_m to either side; nearby is "
                                "within 4 standard errors.",
                 .domain = "location_class"},
            }};
}

io::LayerDefinition contact_zones_layer() {
    return {.name = "contact_zones",
            .title = "Contacts: the ground that holds each with 90 percent",
            .description = "The ground in which each contact lies with 90 percent probability, place by place. Empty on maps of "
                           "more than 20,000 contacts.",
            .geometry = GeometryKind::multipolygon,
            .fields = {
                {.name = "contact", .type = FieldType::integer, .description = "Feature id in contact_review."},
                {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "location_confidence_m", .type = FieldType::real,
                 .description = "Half of the zone's width, root mean square along the contact, metres."},
            }};
}

io::LayerDefinition disputed_ground_layer() {
    return {
        .name = "disputed_ground",
        .title = "Disputed ground: perhaps an unmapped body",
        .description =
            "Ground where a bunch of neighbouring stops speaks for another unit than the drafted one and no shift of "
            "contacts explains it: what is nearer to them than to any other stop, within the drafted unit.",
        .geometry = GeometryKind::multipolygon,
        .fields = {
            {.name = "drafted_unit",
             .type = FieldType::text,
             .description = "Unit that the draft shows there.",
             .domain = "unit"},
            {.name = "like_unit",
             .type = FieldType::text,
             .description = "Unit that the stops look like.",
             .domain = "unit"},
            {.name = "stops", .type = FieldType::integer, .description = "Number of stops in the cluster."},
            {.name = "stops_rock_seen",
             .type = FieldType::integer,
             .description = "Number of them where rock of like_unit was seen."},
            {.name = "probability",
             .type = FieldType::real,
             .description = "Probability that there is such a body: at least that of its surest stop; over 0.5. How "
                            "far it reaches is "
                            "less sure.",
             .domain = "share"},
            {.name = "log10_odds",
             .type = FieldType::real,
             .description =
                 "Sum over the stops of the decimal logarithm of the odds of like_unit over drafted_unit, soil and "
                 "rock seen."},
            {.name = "area_m2", .type = FieldType::real, .description = "Its ground, square metres."},
            {.name = "reason", .type = FieldType::text, .description = "Why it is disputed, in one or two sentences."},
        }};
}

io::LayerDefinition revised_units_layer() {
    return {
        .name = "revised_units",
        .title = "Units: the revised map",
        .description =
            "The whole map as draft, soil and rock seen together have it: the draft, its contacts moved and areas of "
            "another "
            "unit drawn in where the stops ask for that. What does not change is as in the draft, to the last vertex. "
            "Polygons share their edges.",
        .geometry = GeometryKind::multipolygon,
        .fields = {
            {.name = "unit",
             .type = FieldType::text,
             .description = "Code of the unit in the legend.",
             .domain = "unit"},
            {.name = "name", .type = FieldType::text, .description = "Name of the unit in the legend."},
            {.name = "source",
             .type = FieldType::text,
             .description = "Where the polygon comes from.",
             .domain = "revised_source"},
            {.name = "draft_row",
             .type = FieldType::integer,
             .description =
                 "Row of the polygon in the draft map, of the largest where several became one. Empty: new."},
            {.name = "probability",
             .type = FieldType::real,
             .description =
                 "Probability of the unit, mean over the polygon. Empty where contacts were not asked to move.",
             .domain = "share"},
            {.name = "hectares", .type = FieldType::real, .description = "Its ground, hectares."},
            {.name = "changed_hectares",
             .type = FieldType::real,
             .description = "Part of it that the draft gives to another unit, hectares."},
        }};
}

io::LayerDefinition proposals_layer() {
    io::LayerDefinition layer{
        .name = "proposals",
        .title = "Proposals: what to change in the draft",
        .description = "Each change that the answer suggests: accept it, reject it or leave it for later. 'adopt' writes "
                       "the next draft from those accepted.",
        .geometry = GeometryKind::multipolygon,
        .fields = io::decision_columns()};
    for (io::FieldDefinition& field : layer.fields) {
        if (field.name == "kind") field.domain = "proposal_kind";
        if (field.name == "probability") field.domain = "share";
    }
    layer.fields.push_back({.name = "gain_hectares",
                            .type = FieldType::real,
                            .description = "Area expected to be put right, hectares: what the proposed unit is more "
                                           "probable than the drafted one, summed over the area."});
    layer.fields.push_back({.name = "nearest_stop_m",
                            .type = FieldType::real,
                            .description = "Distance to the nearest stop, metres; 0: inside the area."});
    layer.fields.push_back({.name = "note",
                            .type = FieldType::text,
                            .description = "Why a proposal that was decided is shown again."});
    layer.fields.push_back({.name = "decision_then",
                            .type = FieldType::text,
                            .description = "The decision when the layer was written. Leave it: 'decision' counts as "
                                           "yours where it differs from this.",
                            .domain = "decision"});
    return layer;
}

io::LayerDefinition traverse_crossings_layer() {
    return {.name = "traverse_crossings",
            .title = "Traverses: where contacts are crossed",
            .description = "Each change of unit along a traverse where its stops find it, beside where the draft map has it.",
            .geometry = GeometryKind::point,
            .fields = {
                {.name = "traverse", .type = FieldType::text, .description = "Traverse, as in the field book."},
                {.name = "from_unit", .type = FieldType::text, .description = "Unit before the crossing.", .domain = "unit"},
                {.name = "to_unit", .type = FieldType::text, .description = "Unit beyond it.", .domain = "unit"},
                {.name = "chainage_m", .type = FieldType::real,
                 .description = "Where the stops find it: metres along the line through the stops, from the first; it lies as "
                                "probably before as beyond. Empty where it is not found."},
                {.name = "chainage_low_m", .type = FieldType::real,
                 .description = "Lower end of the stretch in which it lies with 90 % probability, metres."},
                {.name = "chainage_high_m", .type = FieldType::real, .description = "Upper end of that stretch, metres."},
                {.name = "probability", .type = FieldType::real,
                 .description = "Probability that there is such a change of unit here; 0 to 1.", .domain = "share"},
                {.name = "mapped_chainage_m", .type = FieldType::real,
                 .description = "Where the draft map has it, metres; the middle where the draft has a strip between in which no stop stands; empty where it has none."},
                {.name = "offset_m", .type = FieldType::real,
                 .description = "How far beyond the draft's crossing it lies, metres; below 0: before it."},
                {.name = "status", .type = FieldType::text,
                 .description = "What the stops say of the draft's crossing.", .domain = "crossing_status"},
            }};
}

io::LayerDefinition unit_summary_layer() {
    io::LayerDefinition layer{.name = "unit_summary",
                              .title = "Units: what the stops say of each",
                              .description = "Each map unit on its drafted ground, with the soil and plants seen there.",
                              .geometry = GeometryKind::multipolygon,
                              .fields = {}};
    for (const UnitColumn& column : unit_columns()) layer.fields.push_back(column.field);
    return layer;
}

io::LayerDefinition next_stops_layer() {
    return {.name = "next_stops",
            .title = "Next stops: where to look next",
            .description = "Places from which contacts are expected to gain most, in a number that the settings state; ways, slopes and fences "
                           "are not known here.",
            .geometry = GeometryKind::point,
            .fields = {
                {.name = "rank", .type = FieldType::integer, .description = "Order of the gain, 1 the greatest, each as if those before it had been visited."},
                {.name = "walk_order", .type = FieldType::integer, .description = "Order in a short walk past all of them, as the crow flies."},
                {.name = "gain_m", .type = FieldType::real,
                 .description = "By how much the mean error of contacts is expected to narrow, taken over one kilometre of contact, metres: 1 is 1000 "
                                "square metres of ground put right."},
                {.name = "contact", .type = FieldType::integer, .description = "Feature id in contact_review; empty for ground without stops."},
                {.name = "unit_a", .type = FieldType::text, .description = "One of the contact's units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "half_width_m", .type = FieldType::real,
                 .description = "Half-width of the ground that holds the contact here with 90 percent before the visit, metres."},
                {.name = "half_width_after_m", .type = FieldType::real, .description = "The same as expected after the visit, metres."},
                {.name = "purpose", .type = FieldType::text, .description = "What to see there, in one sentence."},
            }};
}

io::LayerDefinition changes_layer() {
    return {.name = "changes",
            .title = "Changes since the last run",
            .description = "What differs from the last run of other inputs, as kept in the folder 'history'. Empty at "
                           "the first run, and above 20,000 stops.",
            .geometry = GeometryKind::point,
            .fields = {
                {.name = "kind", .type = FieldType::text, .description = "What kind of change it is.", .domain = "change"},
                {.name = "what",
                 .type = FieldType::text,
                 .description = "Identifier of the stop; or units of the contact and its feature id in contact_review."},
                {.name = "before",
                 .type = FieldType::text,
                 .description = "Verdict, 90 % half-width or place at the last run; empty where there was none."},
                {.name = "after",
                 .type = FieldType::text,
                 .description = "The same now; empty where there is none."},
                {.name = "sentence", .type = FieldType::text, .description = "The change in words."},
            }};
}

io::LayerDefinition problems_layer() {
    return {.name = "problems",
            .title = "Problems in the data",
            .description = "What was wrong or doubtful in the records and the map, and how to mend it.",
            .geometry = GeometryKind::point,
            .fields = {
                {.name = "source", .type = FieldType::text, .description = "File or layer in which it stands."},
                {.name = "row",
                 .type = FieldType::integer,
                 .description =
                     "Row as it is seen where it stands: in spreadsheets and CSV the headings are row 1; in a "
                     "GeoPackage or database the feature id; in shapefiles and dBase tables the record, from 1."},
                {.name = "stop", .type = FieldType::text, .description = "Stop or borehole it belongs to."},
                {.name = "field", .type = FieldType::text, .description = "Column in which it stands."},
                {.name = "value", .type = FieldType::text, .description = "The value as it was written."},
                {.name = "severity", .type = FieldType::text, .description = "How bad it is.", .domain = "severity"},
                {.name = "message", .type = FieldType::text, .description = "What is wrong."},
                {.name = "remedy", .type = FieldType::text, .description = "How to mend it."},
            }};
}

io::LayerDefinition layer_styles_table() {
    return {.name = "layer_styles",
            .title = "How the layers are to be drawn",
            .description = "A style for each layer, as an OGC Styled Layer Descriptor (02-070).",
            .geometry = GeometryKind::none,
            .fields = {
                {.name = "f_table_name", .type = FieldType::text, .description = "Layer to which the style belongs."},
                {.name = "f_geometry_column", .type = FieldType::text, .description = "Its geometry column."},
                {.name = "styleName", .type = FieldType::text, .description = "Name of the style."},
                {.name = "styleSLD", .type = FieldType::text, .description = "The style: an OGC Styled Layer Descriptor, XML."},
                {.name = "useAsDefault", .type = FieldType::boolean, .description = "Whether the layer is drawn so unless asked otherwise."},
                {.name = "description", .type = FieldType::text, .description = "What the style shows."},
            }};
}

}  // namespace

io::FileDefinition result_definition(const model::Survey& survey) {
    io::FileDefinition file{
        .domains = {unit_domain(survey),
                    stop_kind_domain(),
                    verdict_domain(),
                    review_domain(),
                    crossing_status_domain(),
                    revised_source_domain(),
                    proposal_kind_domain(),
                    io::decision_domain(),
                    change_domain(),
                    severity_domain(),
                    parent_material_domain(),
                    confidence_domain(),
                    location_class_domain(),
                    {.name = "share", .range = Domain::Range{0, 1}}},
        .layers = {stop_fit_layer(survey), stop_evidence_layer(), contact_review_layer(), relocated_contacts_layer(),
                   contact_zones_layer(), disputed_ground_layer(), revised_units_layer(), proposals_layer(),
                   traverse_crossings_layer(), unit_summary_layer(), next_stops_layer(), changes_layer(),
                   problems_layer(), layer_styles_table()}};
    if (survey.map_source.empty()) tell_of_first_map(file);
    return file;
}

}  // namespace subcrop::publish
