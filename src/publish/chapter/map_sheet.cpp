#include "publish/chapter/map_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <optional>

#include "infer/description/unit_words.hpp"
#include "publish/chapter/legend_plate.hpp"
#include "publish/chapter/map_symbols.hpp"
#include "publish/map_colours.hpp"
#include "publish/xml_text.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::publish::chapter {

namespace {

constexpr double margin = 8, legend_width = 78, gap = 6, coordinates = 5;  // millimetres
constexpr double printer_margin = 5;
constexpr double min_step = 0.05;  ///< vertices closer to the last one are left out, because they cannot be seen

class Frame {
public:
    Frame(const Box& extent, double denominator) : mm_a_m_(1000 / denominator), extent_(extent) {}
    double width() const { return extent_.width() * mm_a_m_; }
    double height() const { return extent_.height() * mm_a_m_; }
    Point at(Point p) const { return {(p.x - extent_.min_x) * mm_a_m_, (extent_.max_y - p.y) * mm_a_m_}; }
    std::vector<Point> at(const Line& line) const {
        std::vector<Point> points;
        for (std::size_t i = 0; i < line.size(); ++i) {
            const Point p = at(line[i]);
            if (points.empty() || i + 1 == line.size() || distance(points.back(), p) >= min_step) points.push_back(p);
        }
        return points;
    }

private:
    double mm_a_m_;
    Box extent_;
};

std::string ring_path(const Frame& frame, const Ring& ring) {
    std::string d;
    for (const Point& p : frame.at(ring)) d += (d.empty() ? "M" : "L") + number(p.x) + ' ' + number(p.y);
    return d + "Z";
}

/// Place for a code: the middle of the longest part inside the polygon of a few lines across it. Nothing if there is no
/// room.
std::optional<Point> label_place(const Frame& frame, const Polygon& polygon, double needed_mm) {
    std::vector<std::vector<Point>> rings{frame.at(polygon.shell)};
    for (const Ring& hole : polygon.holes) rings.push_back(frame.at(hole));
    double low = rings[0][0].y, high = low;
    for (const Point& p : rings[0]) {
        low = std::min(low, p.y);
        high = std::max(high, p.y);
    }
    std::optional<Point> best;
    double longest = needed_mm;
    for (int i = 1; i < 8; ++i) {
        const double y = low + (high - low) * i / 8;
        std::vector<double> crossings;
        for (const auto& ring : rings) {
            for (std::size_t k = 0; k + 1 < ring.size(); ++k) {
                const Point a = ring[k], b = ring[k + 1];
                if ((a.y > y) != (b.y > y)) crossings.push_back(a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
            }
        }
        std::sort(crossings.begin(), crossings.end());
        for (std::size_t k = 0; k + 1 < crossings.size(); k += 2) {
            if (crossings[k + 1] - crossings[k] <= longest) continue;
            longest = crossings[k + 1] - crossings[k];
            best = Point{(crossings[k] + crossings[k + 1]) / 2, y};
        }
    }
    return best;
}

void draw_units(Svg& map, const Frame& frame, const model::Survey& survey,
                const std::vector<model::MapPolygon>& polygons) {
    for (const model::MapPolygon& polygon : polygons) {
        if (polygon.unit == model::no_unit) continue;
        std::string d = ring_path(frame, polygon.polygon.shell);
        for (const Ring& hole : polygon.polygon.holes) d += ring_path(frame, hole);
        const std::string colour = unit_colour(survey, static_cast<std::size_t>(polygon.unit));
        map.path(d, "fill-rule=\"evenodd\" fill=\"" + colour + "\" fill-opacity=\"0.75\" stroke=\"" + colour +
                        "\" stroke-width=\"0.05\"");
    }
}

geo::UnitMap map_of(const std::vector<model::MapPolygon>& polygons, std::size_t units) {
    ProblemLog unheard;
    return geo::UnitMap(polygons, units, {}, unheard);
}

/// The parts of a line whose edges pass `keep` (by their middles), each as a line.
template <class Keep>
std::vector<Line> parts_of(const Line& line, Keep&& keep) {
    std::vector<Line> parts;
    bool going = false;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        const bool kept = keep(Point{(line[i].x + line[i + 1].x) / 2, (line[i].y + line[i + 1].y) / 2});
        if (kept && !going) parts.push_back({line[i]});
        if (kept) parts.back().push_back(line[i + 1]);
        going = kept;
    }
    return parts;
}

void draw_contact(Svg& map, const Frame& frame, const Line& places, infer::LocationClass location, bool questionable) {
    const std::vector<Point> line = frame.at(places);
    if (line.size() < 2) return;
    map.polyline(line, contact_line(location));
    double length = 0;
    for (std::size_t k = 0; k + 1 < line.size(); ++k) length += distance(line[k], line[k + 1]);
    constexpr double room_for_query = 8;
    if (!questionable || length < room_for_query) return;
    const Point middle = line[line.size() / 2];
    map.text(middle.x, middle.y + 0.9, 2.4, "?", "middle",
             "paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"0.8\"");
}

/// Contacts of the revised map. Drafted contacts within a redrawn area are left out. The outline of the area is
/// inferred, its existence questionable.
void draw_contacts(Svg& map, const Frame& frame, const JudgedSurvey& judged,
                   const std::vector<model::MapPolygon>& polygons) {
    constexpr double same_m = 1;
    const std::size_t units = judged.data->survey.units.size();
    const bool redrawn =
        !judged.fit.without_draft && std::any_of(judged.revised.units.begin(), judged.revised.units.end(),
                                                 std::mem_fn(&infer::RevisedUnit::of_redrawn_area));
    std::optional<geo::UnitMap> after;
    if (redrawn) after = map_of(polygons, units);
    for (std::size_t i = 0; i < judged.relocation.contacts.size(); ++i) {
        const infer::RelocatedContact& contact = judged.relocation.contacts[i];
        const bool questionable =
            contact.existence == infer::Confidence::questionable || contact.identity == infer::Confidence::questionable;
        const Line& line = relocated_line(judged.relocation, judged.data->map, i);
        if (!redrawn)
            draw_contact(map, frame, line, contact.location, questionable);
        else
            for (const Line& part :
                 parts_of(line, [&](Point p) { return after->nearest_contact(p, same_m).has_value(); }))
                draw_contact(map, frame, part, contact.location, questionable);
    }
    if (!redrawn) return;
    std::optional<geo::UnitMap> moved;
    if (judged.relocation.moved) moved = map_of(judged.relocation.units, units);
    const geo::UnitMap& before = moved ? *moved : judged.data->map;
    for (const geo::Contact& contact : after->contacts())
        for (const Line& part :
             parts_of(contact.line, [&](Point p) { return !before.nearest_contact(p, same_m).has_value(); }))
            draw_contact(map, frame, part, infer::LocationClass::inferred, true);
}

/// Lines of the grid with their coordinates along the frame, in whole metres.
void draw_grid(Svg& sheet, const Frame& frame, const Box& extent, double step, double left, double top) {
    const std::string thin = std::string("stroke=\"") + ink + "\" stroke-width=\"0.1\" stroke-opacity=\"0.5\"";
    for (double x = std::ceil(extent.min_x / step) * step; x <= extent.max_x; x += step) {
        const double at = left + frame.at({x, extent.min_y}).x;
        sheet.line(at, top, at, top + frame.height(), thin);
        if (at - left > 8 && left + frame.width() - at > 8)
            sheet.text(at, top + frame.height() + 3, 2.2, std::to_string(std::llround(x)) + " E", "middle");
    }
    for (double y = std::ceil(extent.min_y / step) * step; y <= extent.max_y; y += step) {
        const double at = top + frame.at({extent.min_x, y}).y;
        sheet.line(left, at, left + frame.width(), at, thin);
        if (at - top > 8 && top + frame.height() - at > 8)
            sheet.text(left - 1, at, 2.2, std::to_string(std::llround(y)) + " N", "middle",
                       "transform=\"rotate(-90 " + number(left - 1) + ' ' + number(at) + ")\"");
    }
}

Svg title_block(const JudgedSurvey& judged, const std::string& credits, double denominator, double grid_m,
                bool all_stops) {
    const model::Survey& survey = judged.data->survey;
    Svg block(legend_width, 0);
    double y = 5;
    for (const std::string& line : broken(survey.title.empty() ? "Bedrock map" : survey.title, 24)) {
        block.text(0, y, 5, line, "start", "font-weight=\"bold\"");
        y += 6;
    }
    const auto say = [&](const std::string& words) {
        for (const std::string& line : broken(words, 48)) {
            block.text(0, y, 2.7, line);
            y += 3.6;
        }
    };
    say(judged.fit.without_draft ? "Bedrock: a first map drawn from bedrock observed and soil."
        : judged.relocation.moved
            ? "Bedrock, revised: contacts moved to where soil and bedrock observed place them."
            : "Bedrock: contacts as drawn. No contact needs to move, as far as these stops can tell.");
    if (!judged.fit.without_draft && judged.revised.changed_m2 > 0)
        say(infer::area_words(judged.revised.changed_m2) + " of " + infer::area_words(judged.revised.area_m2) +
            " differ from the draft.");
    say(counted(survey.stops.size(), "stop", "stops") +
        (all_stops ? "." : ", drawn where they conflict or bedrock was observed."));
    say("Scale " + scale_words(denominator) + ". Grid: " + std::to_string(std::llround(grid_m)) + " m, " +
        survey.crs_name + ".");
    if (!credits.empty()) say(credits);
    block.set_height(y + 3);
    return block;
}

}  // namespace

SheetPaper paper_for(const Svg& drawing) {
    static const std::array<SheetPaper, 5> papers{
        {{"A4", 297, 210}, {"A3", 420, 297}, {"A2", 594, 420}, {"A1", 841, 594}, {"A0", 1189, 841}}};
    const double width = drawing.width() + 2 * printer_margin, height = drawing.height() + 2 * printer_margin;
    for (const SheetPaper& paper : papers)
        if (width <= paper.width_mm && height <= paper.height_mm) return paper;
    return {{}, std::ceil(width), std::ceil(height)};
}

std::string printed_page(const Svg& drawing, const std::string& title) {
    const SheetPaper paper = paper_for(drawing);
    const std::string size = number(paper.width_mm) + "mm " + number(paper.height_mm) + "mm";
    return "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + escaped(title) +
           "</title><style>@page { size: " + size +
           "; margin: 0; } html, body { margin: 0; } body { width: " + number(paper.width_mm) +
           "mm; height: " + number(paper.height_mm - 1) +
           "mm; box-sizing: border-box; padding: " + number(printer_margin) +
           "mm; overflow: hidden; } svg { display: block; }</style></head><body>" + drawing.inline_markup(title) +
           "</body></html>\n";
}

MapSheet map_sheet(const JudgedSurvey& judged, const std::string& credits, double denominator) {
    constexpr double sheet_width = 420 - 2 * printer_margin, sheet_height = 297 - 2 * printer_margin;  // A3 landscape
    const model::Survey& survey = judged.data->survey;
    const std::vector<model::MapPolygon> polygons = infer::polygons_of(judged.revised, judged.data->map);
    MapSheet result;
    const Box drafted = judged.data->map.extent();
    if (polygons.empty() || drafted.width() <= 0 || drafted.height() <= 0) return result;
    Box extent = drafted;
    for (const model::MapPolygon& polygon : polygons) {
        for (const Point& p : polygon.polygon.shell) {
            extent.min_x = std::min(extent.min_x, p.x);
            extent.min_y = std::min(extent.min_y, p.y);
            extent.max_x = std::max(extent.max_x, p.x);
            extent.max_y = std::max(extent.max_y, p.y);
        }
    }
    const double room_across = sheet_width - 2 * margin - legend_width - gap - coordinates,
                 room_down = sheet_height - 2 * margin - coordinates;
    result.denominator =
        denominator > 0 ? denominator : round_scale(extent.width(), extent.height(), room_across, room_down);
    result.grid_m = round_step(40 * result.denominator / 1000);
    const Frame frame(extent, result.denominator);
    const double left = margin + coordinates, top = margin;
    const Svg plate = legend_plate(judged, legend_width, result.denominator);
    const bool few = survey.stops.size() <= max_stops_drawn;
    const Svg title = title_block(judged, credits, result.denominator, result.grid_m, few);
    const double down = std::max(frame.height() + coordinates, title.height() + plate.height());
    Svg sheet(left + frame.width() + gap + legend_width + margin, top + down + margin);
    sheet.rectangle(0, 0, sheet.width(), sheet.height(), std::string("fill=\"") + paper + "\"");

    Svg map(frame.width(), frame.height());
    draw_units(map, frame, survey, polygons);
    draw_contacts(map, frame, judged, polygons);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const Point p = frame.at(survey.stops[s].position);
        const infer::Verdict verdict = judged.fit.stops[s].verdict;
        if (!few && verdict != infer::Verdict::conflicts && survey.stops[s].unit_seen == model::no_unit) continue;
        draw_stop(map, p.x, p.y, verdict);
    }
    for (const model::MapPolygon& polygon : polygons) {
        if (polygon.unit == model::no_unit) continue;
        const std::string& code = survey.units[static_cast<std::size_t>(polygon.unit)].code;
        if (const auto place = label_place(frame, polygon.polygon, 3 + 2 * static_cast<double>(code.size())))
            map.text(place->x, place->y + 1.1, 3, code, "middle",
                     "font-weight=\"bold\" paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"0.8\"");
    }
    sheet.place(map, left, top);
    draw_grid(sheet, frame, extent, result.grid_m, left, top);
    sheet.rectangle(left, top, frame.width(), frame.height(),
                    std::string("fill=\"none\" stroke=\"") + ink + "\" stroke-width=\"0.4\"");
    sheet.place(title, left + frame.width() + gap, top);
    sheet.place(plate, left + frame.width() + gap, top + title.height());

    result.drawing = std::move(sheet);
    return result;
}

}  // namespace subcrop::publish::chapter
