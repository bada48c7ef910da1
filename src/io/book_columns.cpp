#include "io/book_columns.hpp"

#include <algorithm>
#include <cassert>
#include <string_view>

#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {

namespace {

const NumberRule percent{.unit = Unit::percent, .least = 0, .most = 100};
const NumberRule millimetres{.unit = Unit::millimetres, .least = 0};
const NumberRule position_sd{.unit = Unit::metres, .least = 0, .most = model::max_position_sd_m};
const NumberRule depth{.unit = Unit::centimetres, .least = 0};

/// Terms that mean what they say.
std::vector<CodedValue> plain_terms(std::span<const std::string_view> terms) {
    std::vector<CodedValue> codes;
    for (const std::string_view term : terms) codes.push_back({std::string(term), std::string(term)});
    return codes;
}

std::vector<CodedValue> texture_codes() {
    std::vector<CodedValue> codes;
    for (std::size_t i = 0; i < field::texture_class_count; ++i) {
        const auto texture = static_cast<field::TextureClass>(i);
        codes.push_back({std::string(field::code(texture)), std::string(field::name(texture))});
    }
    return codes;
}

std::vector<CodedValue> effervescence_codes() {
    std::vector<CodedValue> codes;
    for (const auto& entry : field::effervescence_classes())
        codes.push_back({std::string(entry.code), std::string(entry.meaning)});
    return codes;
}

std::vector<CodedValue> redox_codes() {
    std::vector<CodedValue> codes;
    for (std::size_t i = 0; i < field::redox_abundance_count; ++i) {
        const auto abundance = static_cast<field::RedoxAbundance>(i);
        codes.push_back({std::string(to_string(abundance)), std::string(description(abundance))});
    }
    return codes;
}

/// "*[OAE]*": at least one master letter.
std::string designation_pattern() {
    std::string letters;
    for (const field::MasterHorizon& master : field::master_horizons()) letters += master.letter;
    return "*[" + letters + "]*";
}

}  // namespace

const std::vector<BookColumn>& stop_book() {
    static const std::vector<BookColumn> columns = {
        {"stop", FieldType::text, "Your name for the stop. Use each name once.", "03-11"},
        {"traverse", FieldType::text, "Name of the traverse it lies on.", "03"},
        {"seq", FieldType::real, "Its number along the traverse: 1, 2, 3 and so on.", "11"},
        {"date", FieldType::date, "Day of the visit: year, month, day.", "2026-05-03"},
        {"position_sd_m", FieldType::real, "Standard error of the position, as the receiver shows it.", "5",
         "position_sd_m", position_sd},
        {"landform", FieldType::text, "Landform. It helps to tell whether the soil is transported.", "shoulder",
         "landform"},
        {"slope_deg",
         FieldType::real,
         "Slope of the land surface.",
         "12",
         "slope_deg",
         {.unit = Unit::degrees, .least = 0, .most = 90}},
        {"unit_seen", FieldType::text,
         "Code of the map unit whose bedrock you observed here, in place (not loose stones).", "Os"},
        {"plants", FieldType::text, "Plants, as free notes.", "heather; some bracken"},
        {"plants_complete", FieldType::boolean, "Yes if the list is complete: a plant not named is absent.", "yes"},
        {"notes", FieldType::text,
         "Anything else. The program looks for words such as 'stratified', 'saprolite' or 'auger refused at 40 cm'.",
         "auger refused at 40 cm"},
    };
    return columns;
}

const BookColumn& horizon_stop_column() {
    static const BookColumn column{"stop", FieldType::text,
                                   "The stop to which the horizon belongs, written as in the table of stops.", "03-11"};
    return column;
}

const BookColumn& log_hole_column() {
    static const BookColumn column{"hole", FieldType::text,
                                   "The borehole to which the horizon belongs, written as in the table of boreholes.",
                                   "B7"};
    return column;
}

const std::vector<BookColumn>& horizon_book() {
    static const std::vector<BookColumn> columns = {
        {"top_cm", FieldType::real, "Depth of its top below the land surface.", "20", "depth_cm", depth},
        {"bottom_cm", FieldType::real, "Depth of its bottom below the land surface.", "55", "depth_cm", depth},
        {"designation", FieldType::text,
         "Horizon designation: material number, master letters, small suffixes, number.", "2Bt1", "designation"},
        {"colour_moist", FieldType::text, "Munsell colour of the moist matrix.", "10YR 4/3"},
        {"colour_dry", FieldType::text, "Munsell colour of the dry matrix.", "10YR 6/3"},
        {"texture", FieldType::text, "Texture class of the fine earth, by feel.", "SIL", "texture"},
        {"sand_pct", FieldType::real, "Sand measured, of the fine earth by mass.", "24", "percent", percent},
        {"silt_pct", FieldType::real, "Silt measured, of the fine earth by mass.", "58", "percent", percent},
        {"clay_pct", FieldType::real, "Clay measured, of the fine earth by mass.", "18", "percent", percent},
        {"jar_sand_mm", FieldType::real, "Jar test: thickness of the sand layer.", "21", "jar_mm", millimetres},
        {"jar_silt_mm", FieldType::real, "Jar test: thickness of the silt layer.", "30", "jar_mm", millimetres},
        {"jar_clay_mm", FieldType::real, "Jar test: thickness of the clay layer.", "12", "jar_mm", millimetres},
        {"fragments_pct", FieldType::real, "Coarse fragments (over 2 mm), of the whole soil by volume.", "15",
         "percent", percent},
        {"fragment_kind", FieldType::text, "Rock of most fragments; 'mixed' if there are many kinds.", "greywacke"},
        {"fragment_shape", FieldType::text, "Shape of most of the fragments.", "angular", "fragment_shape"},
        {"effervescence", FieldType::text, "Reaction to a drop of dilute hydrochloric acid.", "NE", "effervescence"},
        {"minerals", FieldType::text, "Minerals seen with the lens; semicolons between them.", "mica; feldspar"},
        {"redox", FieldType::text, "Mottles and other signs of wetness: share of the face that they cover.", "few",
         "redox"},
        {"ph",
         FieldType::real,
         "pH, by the same method in the whole survey.",
         "5.5",
         "ph",
         {.unit = Unit::none, .least = 1, .most = 13}},
    };
    return columns;
}

const std::vector<BookColumn>& legend_book() {
    static const std::vector<BookColumn> columns = {
        {"unit", FieldType::text, "Code of the unit, as in the map and in 'unit_seen'. Use each code once.", "Os"},
        {"name", FieldType::text, "Name of the unit.", "Orrin sandstone"},
        {"age_order", FieldType::real, "1 for the youngest unit, 2 for the next and so on.", "3"},
        {"lithology", FieldType::text, "Its rock.", "sandstone"},
        {"colour", FieldType::text, "Colour on the map.", "#d8a548"},
        {"cover", FieldType::boolean, "Yes for alluvium, till and other deposits that cover bedrock.", "no"},
        {"expected_colours", FieldType::text, "Moist subsoil colours you expect over it, semicolons between them.",
         "10YR 5/4; 7.5YR 5/4"},
        {"expected_textures", FieldType::text, "Subsoil texture classes you expect over it, semicolons between them.",
         "SL; LS"},
        {"expected_plants", FieldType::text, "Plants you expect over it, semicolons between them.", "heather; gorse"},
        {"expected_reactions", FieldType::text, "Reactions to acid you expect over it, semicolons between them.", "NE"},
        {"expected_worth_stops",
         FieldType::real,
         "How many stops your expectation is worth. Empty: 5.",
         "5",
         "worth_stops",
         {.unit = Unit::none, .least = 0, .most = 1e6}},
    };
    return columns;
}

const std::vector<BookColumn>& borehole_book() {
    const NumberRule metres{.unit = Unit::metres, .least = 0, .most = 3000};
    static const std::vector<BookColumn> columns = {
        {"hole", FieldType::text, "Name of the borehole. Use each name once, and no name of a stop.", "B7"},
        {"collar_height_m",
         FieldType::real,
         "Height of the land surface at the hole.",
         "212.4",
         "height_m",
         {.unit = Unit::metres, .least = -1000, .most = 9000}},
        {"position_sd_m", FieldType::real, "Standard error of the collar's position.", "3", "position_sd_m",
         position_sd},
        {"weathered_rock_m", FieldType::real, "Depth to the top of weathered rock.", "2.3", "hole_depth_m", metres},
        {"rock_m", FieldType::real, "Depth to the top of fresh rock.", "4.1", "hole_depth_m", metres},
        {"end_m", FieldType::real, "Depth of the hole.", "6", "hole_depth_m", metres},
        {"unit_seen", FieldType::text, "Code of the map unit whose bedrock is at the bottom.", "Os"},
        {"date", FieldType::date, "Day it was drilled: year, month, day.", "2024-09-17"},
        {"notes", FieldType::text, "Anything else.", "water at 1.8 m"},
    };
    return columns;
}

const std::vector<BookColumn>& attitude_book() {
    static const std::vector<BookColumn> columns = {
        {"strike_deg",
         FieldType::real,
         "Strike by the right-hand rule: the bed dips to the right of it.",
         "35",
         "strike_deg",
         {.unit = Unit::degrees, .least = 0, .most = 360}},
        {"dip_deg",
         FieldType::real,
         "Dip, from the horizontal.",
         "12",
         "dip_deg",
         {.unit = Unit::degrees, .least = 0, .most = 90}},
        {"error_deg",
         FieldType::real,
         "Standard error of the attitude. Empty: 5.",
         "3",
         "dip_deg",
         {.unit = Unit::degrees, .least = 0, .most = 90}},
    };
    return columns;
}

const std::vector<BookColumn>& map_book() {
    static const std::vector<BookColumn> columns = {
        {"unit", FieldType::text, "Code of the unit, as the legend writes it.", "Os"},
    };
    return columns;
}

const std::vector<Domain>& book_domains() {
    static const std::vector<Domain> domains = {
        {.name = "landform", .codes = plain_terms(field::landform_terms())},
        {.name = "texture", .codes = texture_codes()},
        {.name = "fragment_shape", .codes = plain_terms(field::fragment_shape_terms())},
        {.name = "effervescence", .codes = effervescence_codes()},
        {.name = "redox", .codes = redox_codes()},
        {.name = "designation", .pattern = designation_pattern()},
        {.name = "percent", .range = Domain::Range{0, 100}},
        {.name = "depth_cm", .range = Domain::Range{0, 3000}},
        {.name = "jar_mm", .range = Domain::Range{0, 1000}},
        {.name = "slope_deg", .range = Domain::Range{0, 90}},
        {.name = "height_m", .range = Domain::Range{-1000, 9000}},
        {.name = "hole_depth_m", .range = Domain::Range{0, 3000}},
        {.name = "strike_deg", .range = Domain::Range{0, 360}},
        {.name = "dip_deg", .range = Domain::Range{0, 90}},
        {.name = "ph", .range = Domain::Range{1, 13}},
        {.name = "position_sd_m", .range = Domain::Range{position_sd.least, position_sd.most}},
        {.name = "worth_stops", .range = Domain::Range{0, 1000}},
    };
    return domains;
}

std::string instead_of_position_sd(const SurveyFile& file) {
    return "the default of " + number_text(file.settings.default_position_sd_m) + " m is used";
}

const NumberRule& rule_of(const std::vector<BookColumn>& book, const std::string& name) {
    const auto found =
        std::find_if(book.begin(), book.end(), [&](const BookColumn& column) { return column.name == name; });
    assert(found != book.end());
    return found->rule;
}

}  // namespace subcrop::io
