#include "publish/styles.hpp"

#include <algorithm>
#include <array>
#include <ostream>
#include <string_view>

#include "io/pending_file.hpp"
#include "publish/map_colours.hpp"
#include "publish/xml_text.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/publish/run_changes.hpp"

namespace subcrop::publish {

namespace {

std::string parameter(const char* name, std::string_view value) {
    return "<CssParameter name=\"" + std::string(name) + "\">" + std::string(value) + "</CssParameter>";
}
std::string fill(const char* colour, const char* opacity = "1") {
    return "<Fill>" + parameter("fill", colour) + parameter("fill-opacity", opacity) + "</Fill>";
}
/// Widths and dashes in pixels; an empty `dashes` is a solid line.
std::string stroke(const char* colour, const char* width, const char* dashes = "", const char* opacity = "1") {
    return "<Stroke>" + parameter("stroke", colour) + parameter("stroke-width", width) +
           parameter("stroke-opacity", opacity) + (*dashes ? parameter("stroke-dasharray", dashes) : "") + "</Stroke>";
}
std::string line(const std::string& stroke_words) { return "<LineSymbolizer>" + stroke_words + "</LineSymbolizer>"; }
std::string area(const std::string& fill_and_stroke) {
    return "<PolygonSymbolizer>" + fill_and_stroke + "</PolygonSymbolizer>";
}
std::string mark(const char* shape, const std::string& fill_and_stroke, const char* size, const char* rotation = "0") {
    return std::string("<PointSymbolizer><Graphic><Mark><WellKnownName>") + shape + "</WellKnownName>" +
           fill_and_stroke + "</Mark><Size>" + size + "</Size><Rotation>" + rotation +
           "</Rotation></Graphic></PointSymbolizer>";
}
std::string label(const std::string& what, const char* colour, const char* placement, bool halo) {
    return "<TextSymbolizer><Label>" + what + "</Label><Font>" + parameter("font-family", "serif") +
           parameter("font-size", "11") + parameter("font-weight", "bold") + "</Font>" + placement +
           (halo ? "<Halo><Radius>1.5</Radius>" + fill(paper, "0.8") + "</Halo>" : "") + fill(colour) +
           "</TextSymbolizer>";
}
constexpr const char* in_the_middle =
    "<LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.5</AnchorPointX><AnchorPointY>0.5</AnchorPointY></"
    "AnchorPoint></PointPlacement></LabelPlacement>";
constexpr const char* along_the_line = "<LabelPlacement><LinePlacement/></LabelPlacement>";
std::string property(const char* name) { return "<ogc:PropertyName>" + std::string(name) + "</ogc:PropertyName>"; }

std::string equals(const char* field, std::string_view value) {
    return "<ogc:PropertyIsEqualTo>" + property(field) + "<ogc:Literal>" + escaped(value) +
           "</ogc:Literal></ogc:PropertyIsEqualTo>";
}
/// `filter` empty: every feature.
std::string rule(std::string_view title, const std::string& filter, const std::string& symbolizers) {
    return "<Rule><Title>" + escaped(title) + "</Title>" +
           (filter.empty() ? "" : "<ogc:Filter>" + filter + "</ogc:Filter>") + symbolizers + "</Rule>\n";
}

std::string units(const model::Survey& survey, const char* opacity) {
    std::string rules;
    for (std::size_t u = 0; u < survey.units.size(); ++u) {
        const model::LegendUnit& unit = survey.units[u];
        const std::string colour = unit_colour(survey, u);
        rules += rule(unit.name.empty() ? unit.code : unit.code + ", " + unit.name, equals("unit", unit.code),
                      area(fill(colour.c_str(), opacity) + stroke(ink, "0.4")));
    }
    return rules + rule("codes", "", label(property("unit"), ink, in_the_middle, true));
}

/// A contact by how it is located: solid accurate, long dashes approximate, short dashes inferred, dots concealed. A
/// question mark shows doubtful identity or existence. These kinds of line are those of FGDC-STD-013-2006, section 1.1;
/// lengths in pixels are ours.
std::string contacts() {
    using infer::LocationClass;
    std::string rules;
    struct Drawn {
        LocationClass location;
        const char* dashes;
    };
    for (const Drawn& d : {Drawn{LocationClass::accurate, ""}, Drawn{LocationClass::approximate, "14 4"},
                           Drawn{LocationClass::inferred, "6 4"}, Drawn{LocationClass::concealed, "1.5 4"}})
        rules += rule("contact, " + std::string(to_string(d.location)), equals("location_class", to_string(d.location)),
                      line(stroke(ink, "1.6", d.dashes)));
    const std::string doubt = "<ogc:Or>" + equals("identity_confidence", "questionable") +
                              equals("existence_confidence", "questionable") + "</ogc:Or>";
    return rules + rule("identity or existence questionable", doubt,
                        label("<ogc:Literal>?</ogc:Literal>", ink, along_the_line, true));
}

std::string reviewed_contacts() {
    using infer::Review;
    return rule("should move", equals("review", to_string(Review::shift)),
                line(stroke(warn, "4", "", "0.6")) + line(stroke(ink, "1"))) +
           rule("in doubt", equals("review", to_string(Review::doubtful)),
                line(stroke(warn, "4", "8 4", "0.6")) + line(stroke(ink, "1"))) +
           rule("supported", equals("review", to_string(Review::supported)), line(stroke(ink, "1.4"))) +
           rule("too few stops to test", equals("review", to_string(Review::untested)), line(stroke(open, "0.8")));
}

/// Different in shape and in colour.
std::string stops() {
    using infer::Verdict;
    const auto of = [](Verdict v, const std::string& symbol) {
        return rule(description(v), equals("verdict", to_string(v)), symbol);
    };
    return of(Verdict::no_evidence, mark("cross", fill(open) + stroke(open, "0.5"), "7")) +
           of(Verdict::off_map, mark("x", fill(open) + stroke(open, "0.5"), "7")) +
           of(Verdict::transported, mark("triangle", fill(paper) + stroke(sand, "1.5"), "9", "180")) +
           of(Verdict::undecided, mark("circle", fill(paper) + stroke(open, "1.5"), "7")) +
           of(Verdict::near_contact, mark("circle", fill(open) + stroke(ink, "1"), "9")) +
           of(Verdict::agrees, mark("circle", fill(calm) + stroke(paper, "0.5"), "7")) +
           of(Verdict::fits, mark("circle", fill(calm) + stroke(calm, "1.5"), "10")) +
           of(Verdict::unlike_any_unit, mark("square", fill(odd) + stroke(paper, "0.5"), "9")) +
           of(Verdict::conflicts, mark("square", fill(warn) + stroke(ink, "1"), "12", "45"));
}

std::string crossings() {
    using infer::CrossingStatus;
    std::string rules;
    for (std::size_t i = 0; i < infer::crossing_status_count; ++i) {
        const auto status = static_cast<CrossingStatus>(i);
        const std::string name(to_string(status));
        const std::string symbol = name == "confirmed"   ? mark("circle", fill(ink), "6")
                                   : name == "not_found" ? mark("x", fill(open) + stroke(open, "1"), "8")
                                   : name == "displaced" ? mark("triangle", fill(warn) + stroke(ink, "0.7"), "9")
                                                         : mark("star", fill(warn) + stroke(ink, "0.7"), "11");
        rules += rule(description(status), equals("status", name), symbol);
    }
    return rules;
}

std::string problems() {
    return rule("note", equals("severity", "note"), mark("square", fill(paper) + stroke(open, "1"), "6")) +
           rule("warning", equals("severity", "warning"), mark("triangle", fill(paper) + stroke(sand, "1.6"), "10")) +
           rule("error", equals("severity", "error"), mark("triangle", fill(warn) + stroke(ink, "1"), "12"));
}

/// Open ones stand out; decided ones are pale.
std::string proposals() {
    return rule("open", equals("decision", "open"), area(fill(warn, "0.35") + stroke(warn, "1.5"))) +
           rule("accepted", equals("decision", "accepted"), area(fill(calm, "0.35") + stroke(calm, "1.5"))) +
           rule("later", equals("decision", "later"), area(stroke(sand, "1.5", "4 4"))) +
           rule("rejected", equals("decision", "rejected"), area(stroke(open, "0.8", "2 4"))) +
           rule("ids", "", label(property("id"), ink, in_the_middle, true));
}

std::string next_stops() {
    return rule(
        "next stop, by rank", "",
        mark("circle", fill(ink) + stroke(paper, "1"), "18") + label(property("rank"), paper, in_the_middle, false));
}

std::string changes() {
    const auto of = [](ChangeKind kind, const std::string& symbol) {
        return rule(description(kind), equals("kind", to_string(kind)), symbol);
    };
    return of(ChangeKind::stop_added, mark("cross", fill(calm) + stroke(ink, "0.5"), "11")) +
           of(ChangeKind::stop_gone, mark("x", fill(open) + stroke(ink, "0.5"), "11")) +
           of(ChangeKind::stop_moved, mark("triangle", fill(paper) + stroke(ink, "1"), "10")) +
           of(ChangeKind::verdict_changed, mark("star", fill(warn) + stroke(ink, "0.7"), "13")) +
           of(ChangeKind::contact_located, mark("circle", fill(paper) + stroke(calm, "2"), "11")) +
           of(ChangeKind::contact_verdict, mark("circle", fill(warn) + stroke(ink, "0.7"), "9")) +
           of(ChangeKind::contact_added, mark("square", fill(calm) + stroke(ink, "0.5"), "8")) +
           of(ChangeKind::contact_gone, mark("square", fill(paper) + stroke(open, "1"), "8"));
}

std::string document(const std::string& layer, const std::string& title, const std::string& rules) {
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<StyledLayerDescriptor version=\"1.0.0\" "
           "xmlns=\"http://www.opengis.net/sld\" "
           "xmlns:ogc=\"http://www.opengis.net/ogc\">\n<NamedLayer><Name>" +
           escaped(layer) + "</Name><UserStyle><Title>" + escaped(title) + "</Title><FeatureTypeStyle>\n" + rules +
           "</FeatureTypeStyle></UserStyle></NamedLayer>\n</StyledLayerDescriptor>\n";
}

}  // namespace

std::vector<LayerStyle> layer_styles(const model::Survey& survey, const io::FileDefinition& file) {
    const std::vector<std::pair<std::string, std::string>> rules{
        {"stop_fit", stops()},
        {"contact_review", reviewed_contacts()},
        {"contact_stretches", reviewed_contacts()},
        {"relocated_contacts", contacts()},
        {"contact_zones", rule(survey.map_source.empty() ? "doubtful zone" : "90 % zone", "", area(fill(zone, "0.2")))},
        {"disputed_area", rule("disputed area", "", area(fill(warn, "0.15") + stroke(warn, "2", "2 4")))},
        {"revised_units", units(survey, "0.6")},
        {"proposals", proposals()},
        {"traverse_crossings", crossings()},
        {"unit_summary", units(survey, "0.6")},
        {"next_stops", next_stops()},
        {"changes", changes()},
        {"problems", problems()}};
    std::vector<LayerStyle> styles;
    for (const io::LayerDefinition& layer : file.layers) {
        const auto found =
            std::find_if(rules.begin(), rules.end(), [&](const auto& entry) { return entry.first == layer.name; });
        if (found == rules.end()) continue;
        const std::string title = layer.title.empty() ? layer.name : layer.title;
        styles.push_back({layer.name, title, document(layer.name, title, found->second)});
    }
    return styles;
}

void write_styles(const std::filesystem::path& folder, const std::vector<LayerStyle>& styles,
                  io::PendingFiles& together) {
    for (const LayerStyle& style : styles) {
        together.write(folder / "styles" / (style.layer + ".sld"), [&](std::ostream& out) { out << style.sld; });
    }
}

}  // namespace subcrop::publish
