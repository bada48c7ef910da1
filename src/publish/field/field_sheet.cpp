#include "publish/field/field_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "publish/field/qr_code.hpp"
#include "publish/xml_text.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/field/written_place.hpp"

namespace subcrop::publish {

namespace {

// Millimetres on the paper. They fit A4 and letter with margins of 12 mm.
constexpr double map_width = 164, map_height = 128, left_margin = 17, top_margin = 2, bottom_margin = 7;
constexpr double edge_mm = 12;  ///< minimum distance of a stop from the map's edge
constexpr double bar_mm = 100;
constexpr std::array<double, 2> scales = {5'000, 10'000};
constexpr double label_step_mm = 34, label_free_mm = 7;
constexpr std::size_t horizon_rows = 4;
constexpr double code_mm = 16;

std::string mm(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.2f", value);
    return text;
}

std::string grouped(double value) {
    std::string text = std::to_string(std::llround(value));
    for (std::size_t at = text.size(); at > 3;) text.insert(at -= 3, 1, ',');
    return text;
}

/// A colour of the legend that is safe in a style; else a light grey.
std::string safe_colour(const std::string& colour) {
    const bool plain =
        colour.size() == 7 && colour[0] == '#' && std::all_of(colour.begin() + 1, colour.end(), [](char c) {
            return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
        });
    return plain ? colour : "#dddddd";
}

/// The part of the segment inside the box (Liang and Barsky 1984); false: none of it.
bool clip(const Box& box, Point& a, Point& b) {
    double from = 0, to = 1;
    const double dx = b.x - a.x, dy = b.y - a.y;
    const auto side = [&](double p, double q) {
        if (p == 0) return q >= 0;
        const double t = q / p;
        if (p < 0)
            from = std::max(from, t);
        else
            to = std::min(to, t);
        return from <= to;
    };
    if (!side(-dx, a.x - box.min_x) || !side(dx, box.max_x - a.x) || !side(-dy, a.y - box.min_y) ||
        !side(dy, box.max_y - a.y))
        return false;
    const Point start = a;
    a = {start.x + from * dx, start.y + from * dy};
    b = {start.x + to * dx, start.y + to * dy};
    return true;
}

/// The part of a ring inside the box, for a fill (Sutherland and Hodgman 1974).
Ring clipped_ring(const Box& box, Ring ring) {
    for (int side = 0; side < 4 && !ring.empty(); ++side) {
        const auto in = [&](Point p) {
            return side == 0   ? p.x >= box.min_x
                   : side == 1 ? p.x <= box.max_x
                   : side == 2 ? p.y >= box.min_y
                               : p.y <= box.max_y;
        };
        const auto cut = [&](Point p, Point q) {
            const double t = side < 2 ? ((side == 0 ? box.min_x : box.max_x) - p.x) / (q.x - p.x)
                                      : ((side == 2 ? box.min_y : box.max_y) - p.y) / (q.y - p.y);
            return Point{p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)};
        };
        Ring kept;
        for (std::size_t i = 0; i < ring.size(); ++i) {
            const Point p = ring[i], last = ring[(i + ring.size() - 1) % ring.size()];
            if (in(p) != in(last)) kept.push_back(cut(last, p));
            if (in(p)) kept.push_back(p);
        }
        ring = std::move(kept);
    }
    return ring;
}

/// A map of some stops.
struct Extract {
    double scale = 10'000;
    Box box;                          ///< working projection
    std::size_t first = 0, last = 0;  ///< stops of the walk, `last` not among them
};

double ground_m(double millimetres, double scale) { return millimetres * scale / 1000; }

/// Consecutive stops of the walk share a map while they fit.
std::vector<Extract> extracts_of(const std::vector<FieldStop>& stops) {
    const auto fits = [](const Box& box, double scale) {
        return box.width() <= ground_m(map_width - 2 * edge_mm, scale) &&
               box.height() <= ground_m(map_height - 2 * edge_mm, scale);
    };
    std::vector<Extract> all;
    for (std::size_t i = 0; i < stops.size();) {
        Box around;
        std::size_t end = i;
        for (; end < stops.size(); ++end) {
            Box more = around;
            more.add(stops[end].place);
            if (!fits(more, scales.back())) break;
            around = more;
        }
        Extract extract;
        extract.first = i;
        extract.last = end;
        extract.scale = *std::find_if(scales.begin(), scales.end(),
                                      [&](double scale) { return fits(around, scale) || scale == scales.back(); });
        const double half_x = ground_m(map_width, extract.scale) / 2, half_y = ground_m(map_height, extract.scale) / 2;
        const Point middle{(around.min_x + around.max_x) / 2, (around.min_y + around.max_y) / 2};
        extract.box = {middle.x - half_x, middle.y - half_y, middle.x + half_x, middle.y + half_y};
        all.push_back(extract);
        i = end;
    }
    return all;
}

class Map {
public:
    Map(const JudgedSurvey& judged, const FieldTrip& trip, const std::vector<model::MapPolygon>& polygons,
        const Extract& extract, std::size_t number)
        : r_(judged),
          survey_(judged.data->survey),
          trip_(trip),
          polygons_(polygons),
          e_(extract),
          id_("m" + std::to_string(number)) {}

    std::string svg() {
        const double width = left_margin + map_width + 1, height = top_margin + map_height + bottom_margin;
        out_ = "<svg class=\"map\" width=\"" + mm(width) + "mm\" height=\"" + mm(height) + "mm\" viewBox=\"0 0 " +
               mm(width) + ' ' + mm(height) + "\">";
        out_ += "<defs><clipPath id=\"" + id_ + "\"><rect x=\"" + mm(left_margin) + "\" y=\"" + mm(top_margin) +
                "\" width=\"" + mm(map_width) + "\" height=\"" + mm(map_height) + "\"/></clipPath><pattern id=\"" +
                id_ +
                "h\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path "
                "d=\"M0 0V2\" stroke=\"#c00\" stroke-width=\"0.5\"/></pattern></defs>";
        out_ += "<g clip-path=\"url(#" + id_ + ")\">";
        units();
        zones();
        contacts();
        ways();
        out_ += "</g>";
        grid();
        unit_labels();
        old_stops();
        walk();
        furniture();
        return out_ + "</svg>";
    }

private:
    double x(Point p) const { return left_margin + (p.x - e_.box.min_x) * 1000 / e_.scale; }
    double y(Point p) const { return top_margin + (e_.box.max_y - p.y) * 1000 / e_.scale; }
    std::string at(Point p) const { return mm(x(p)) + ' ' + mm(y(p)); }

    std::string path_of(const Line& line) const {
        std::string path;
        std::optional<Point> end;
        for (std::size_t i = 1; i < line.size(); ++i) {
            Point a = line[i - 1], b = line[i];
            if (!clip(e_.box, a, b)) continue;
            if (!end || !(*end == a)) path += 'M' + at(a);
            path += 'L' + at(b);
            end = b;
        }
        return path;
    }

    std::string path_of(const Polygon& polygon) const {
        std::string path;
        const auto add = [&](const Ring& ring) {
            const Ring inside = clipped_ring(e_.box, ring);
            for (std::size_t i = 0; i < inside.size(); ++i) path += (i == 0 ? 'M' : 'L') + at(inside[i]);
            if (!inside.empty()) path += 'Z';
        };
        add(polygon.shell);
        for (const Ring& hole : polygon.holes) add(hole);
        return path;
    }

    void path(const std::string& d, const std::string& style) {
        if (!d.empty()) out_ += "<path d=\"" + d + "\" " + style + "/>";
    }

    void text(double px, double py, const std::string& words, const char* style, double size) {
        out_ += "<text x=\"" + mm(px) + "\" y=\"" + mm(py) + "\" font-size=\"" + mm(size) + "\" " + style + '>' +
                escaped(words) + "</text>";
    }

    const std::string& code(model::UnitIndex unit) const { return survey_.units[static_cast<std::size_t>(unit)].code; }

    void units() {
        for (const model::MapPolygon& p : polygons_) {
            if (p.unit == model::no_unit) continue;
            path(path_of(p.polygon), "fill=\"" + safe_colour(survey_.units[static_cast<std::size_t>(p.unit)].colour) +
                                         "\" fill-opacity=\"0.35\" fill-rule=\"evenodd\"");
        }
    }

    void zones() {
        for (const FieldContact& c : trip_.contacts)
            for (const Polygon& part : c.zone)
                path(path_of(part), "fill=\"#d00000\" fill-opacity=\"0.14\" fill-rule=\"evenodd\"");
    }

    void contacts() {
        const auto& all = r_.data->map.contacts();
        for (std::size_t i = 0; i < all.size(); ++i) {
            const bool moved = !r_.relocation.contacts[i].line.empty();
            if (moved)
                path(path_of(all[i].line),
                     "fill=\"none\" stroke=\"#666\" stroke-width=\"0.25\" stroke-dasharray=\"1.5 1\"");
            path(path_of(infer::relocated_line(r_.relocation, r_.data->map, i)),
                 "fill=\"none\" stroke=\"#000\" stroke-width=\"0.4\"");
        }
    }

    void ways() {
        for (const Polygon& area : survey_.no_go)
            path(path_of(area),
                 "fill=\"url(#" + id_ + "h)\" stroke=\"#c00\" stroke-width=\"0.3\" fill-rule=\"evenodd\"");
        for (const Line& track : survey_.tracks)
            path(path_of(track), "fill=\"none\" stroke=\"#7a4a12\" stroke-width=\"0.5\" stroke-dasharray=\"2 0.8\"");
    }

    void grid() {
        const double step = e_.scale == scales.front() ? 100 : 200;  // 20 mm
        out_ += "<g stroke=\"#000\" stroke-width=\"0.12\">";
        const auto first = [&](double from) { return std::ceil(from / step) * step; };
        for (double east = first(e_.box.min_x); east <= e_.box.max_x; east += step) {
            const double px = x({east, 0});
            out_ += "<path d=\"M" + mm(px) + ' ' + mm(top_margin) + "v2M" + mm(px) + ' ' + mm(top_margin + map_height) +
                    "v-2\"/>";
            for (double north = first(e_.box.min_y); north <= e_.box.max_y; north += step) {
                const double py = y({0, north});
                out_ += "<path d=\"M" + mm(px - 1) + ' ' + mm(py) + "h2M" + mm(px) + ' ' + mm(py - 1) + "v2\"/>";
            }
        }
        for (double north = first(e_.box.min_y); north <= e_.box.max_y; north += step) {
            const double py = y({0, north});
            out_ += "<path d=\"M" + mm(left_margin) + ' ' + mm(py) + "h2M" + mm(left_margin + map_width) + ' ' +
                    mm(py) + "h-2\"/>";
        }
        out_ += "<rect x=\"" + mm(left_margin) + "\" y=\"" + mm(top_margin) + "\" width=\"" + mm(map_width) +
                "\" height=\"" + mm(map_height) + "\" fill=\"none\" stroke-width=\"0.3\"/></g>";
        for (double east = first(e_.box.min_x); east <= e_.box.max_x; east += step)
            text(x({east, 0}), top_margin + map_height + 3, std::to_string(std::llround(east)),
                 "text-anchor=\"middle\"", 2.4);
        for (double north = first(e_.box.min_y); north <= e_.box.max_y; north += step)
            text(left_margin - 1, y({0, north}) + 0.8, std::to_string(std::llround(north)), "text-anchor=\"end\"", 2.4);
        text(left_margin, top_margin + map_height + 6.2, "east and north in " + survey_.crs_name + ", metres", "", 2.4);
    }

    bool free(Point p) const {
        const double far = ground_m(label_free_mm, e_.scale);
        const std::vector<FieldStop>& stops = trip_.summary.stops;
        return std::none_of(stops.begin(), stops.end(),
                            [&](const FieldStop& stop) { return distance(stop.place, p) < far; });
    }

    void unit_labels() {
        for (double px = label_step_mm / 2; px < map_width; px += label_step_mm) {
            for (double py = label_step_mm / 2; py < map_height; py += label_step_mm) {
                const Point p{e_.box.min_x + ground_m(px, e_.scale), e_.box.max_y - ground_m(py, e_.scale)};
                const model::UnitIndex unit = r_.data->map.unit_at(p);
                if (unit != model::no_unit && free(p))
                    text(x(p), y(p), code(unit), "text-anchor=\"middle\" font-style=\"italic\" class=\"halo\"", 3.4);
            }
        }
    }

    bool in_view(Point p) const { return e_.box.contains(p); }

    void old_stops() {
        for (const model::Stop& stop : survey_.stops) {
            if (!in_view(stop.position)) continue;
            out_ += "<circle cx=\"" + mm(x(stop.position)) + "\" cy=\"" + mm(y(stop.position)) +
                    "\" r=\"0.5\" fill=\"#444\"/>";
            const double px = x(stop.position);
            const bool at_edge = px > left_margin + map_width - 10;
            text(px + (at_edge ? -0.9 : 0.9), y(stop.position) - 0.5, stop.id,
                 at_edge ? "text-anchor=\"end\" fill=\"#444\" class=\"halo\"" : "fill=\"#444\" class=\"halo\"", 1.9);
        }
    }

    void walk() {
        const FieldSummary& s = trip_.summary;
        Line way;
        if (s.start) way.push_back(*s.start);
        for (const FieldStop& stop : s.stops) {
            way.insert(way.end(), stop.leg_corners.begin(), stop.leg_corners.end());
            way.push_back(stop.place);
        }
        way.insert(way.end(), s.last_leg_corners.begin(), s.last_leg_corners.end());
        if (s.start) way.push_back(*s.start);
        path(path_of(way), "fill=\"none\" stroke=\"#0b57c2\" stroke-width=\"0.35\" stroke-dasharray=\"1 1\"");
        if (s.start && in_view(*s.start)) {
            out_ += "<path d=\"M" + mm(x(*s.start)) + ' ' + mm(y(*s.start) - 2.2) +
                    "l2.2 4h-4.4z\" fill=\"#fff\" stroke=\"#0b57c2\" stroke-width=\"0.5\"/>";
            text(x(*s.start) + 3, y(*s.start) + 1, "start", "class=\"halo\"", 2.8);
        }
        for (std::size_t i = 0; i < s.stops.size(); ++i) {
            const Point p = s.stops[i].place;
            if (!in_view(p)) continue;
            out_ += "<circle cx=\"" + mm(x(p)) + "\" cy=\"" + mm(y(p)) + "\" r=\"0.5\" fill=\"#0b57c2\"/>";
            out_ += "<circle cx=\"" + mm(x(p)) + "\" cy=\"" + mm(y(p)) +
                    "\" r=\"2.4\" fill=\"none\" stroke=\"#0b57c2\" stroke-width=\"0.6\"/>";
            text(x(p) + 2.9, y(p) + 3.4, std::to_string(i + 1), "fill=\"#0b57c2\" font-weight=\"bold\" class=\"halo\"",
                 4);
        }
    }

    void furniture() {
        const double px = left_margin + map_width - 7, py = top_margin + 5;
        out_ += "<path d=\"M" + mm(px) + ' ' + mm(py) +
                "l2.2 9l-2.2 -2l-2.2 2z\" fill=\"#000\" stroke=\"#fff\" stroke-width=\"0.3\"/>";
        text(px, py + 12.5, "grid north", "text-anchor=\"middle\" class=\"halo\"", 2.4);
        const double bx = left_margin + 4, by = top_margin + map_height - 5;
        out_ += "<rect x=\"" + mm(bx - 2) + "\" y=\"" + mm(by - 5) + "\" width=\"" + mm(bar_mm + 4) +
                "\" height=\"8\" fill=\"#fff\" fill-opacity=\"0.85\"/>";
        out_ += "<path class=\"bar\" d=\"M" + mm(bx) + ' ' + mm(by - 1) + "v2M" + mm(bx) + ' ' + mm(by) + 'h' +
                mm(bar_mm) + "M" + mm(bx + bar_mm) + ' ' + mm(by - 1) + "v2M" + mm(bx + bar_mm / 2) + ' ' +
                mm(by - 0.6) + "v1.2\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.4\"/>";
        text(bx, by - 2,
             "1:" + grouped(e_.scale) + "; this bar is 100 mm long, " + grouped(ground_m(bar_mm, e_.scale)) +
                 " m. Print at 100 %.",
             "", 2.6);
    }

    const JudgedSurvey& r_;
    const model::Survey& survey_;
    const FieldTrip& trip_;
    const std::vector<model::MapPolygon>& polygons_;
    const Extract& e_;
    std::string id_, out_;
};

std::string length_words(double m) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f km", m / 1000);
    return m < 950 ? std::to_string(std::lround(m)) + " m" : text;
}

std::string minutes_words(double minutes) {
    const long whole = std::lround(minutes);
    return whole < 60 ? std::to_string(whole) + " min"
                      : std::to_string(whole / 60) + " h " + (whole % 60 < 10 ? "0" : "") + std::to_string(whole % 60);
}

std::string grid_text(Point p) {
    return std::to_string(std::lround(p.x)) + " east, " + std::to_string(std::lround(p.y)) + " north";
}

/// Blanks named as the columns of the field book.
std::string blanks() {
    static constexpr std::array stop_columns = {"stop", "date", "position_sd_m", "landform", "slope_deg", "unit_seen"};
    static constexpr std::array horizon_columns = {"top_cm",        "bottom_cm",     "designation",
                                                   "colour_moist",  "texture",       "fragments_pct",
                                                   "fragment_kind", "effervescence", "redox"};
    std::string html = "<table class=\"blanks\"><tr>";
    for (const char* column : stop_columns) html += std::string("<th>") + column + "</th>";
    html += "</tr><tr>";
    for (std::size_t i = 0; i < stop_columns.size(); ++i) html += "<td></td>";
    html += "</tr></table><table class=\"blanks\"><tr>";
    for (const char* column : horizon_columns) html += std::string("<th>") + column + "</th>";
    html += "</tr>";
    for (std::size_t row = 0; row < horizon_rows; ++row) {
        html += "<tr>";
        for (std::size_t i = 0; i < horizon_columns.size(); ++i) html += "<td></td>";
        html += "</tr>";
    }
    return html +
           "</table><table class=\"blanks\"><tr><th>plants, and whether the list is complete</th><th>notes; true "
           "position where it is not this one</th></tr><tr><td></td><td></td></tr></table>";
}

std::string card(const FieldStop& stop) {
    std::string html = "<section class=\"stop\">" + qr_code(geo_uri(stop.degrees), code_mm) + "<h3>" +
                       escaped(stop.name) + "</h3><p class=\"place\">" + grid_text(stop.place) + " &nbsp; " +
                       escaped(field::degrees_text(stop.degrees.y, stop.degrees.x));
    if (stop.height_m) html += " &nbsp; height " + std::to_string(std::lround(*stop.height_m)) + " m";
    html += "</p><p>" + escaped(stop.purpose) + "</p>";
    if (!stop.look_for.empty()) html += "<p><b>Look for:</b> " + escaped(stop.look_for) + ".</p>";
    if (stop.leg_detour_m > 0)
        html += "<p>The way there goes round a no-go area: " + length_words(stop.leg_detour_m) + " more.</p>";
    if (stop.leg_crosses_no_go) html += "<p><b>The straight way there crosses a no-go area: go round it.</b></p>";
    return html + blanks() + "</section>";
}

bool goes_round_no_go(const FieldSummary& s) {
    return s.last_leg_detour_m > 0 ||
           std::any_of(s.stops.begin(), s.stops.end(), [](const FieldStop& stop) { return stop.leg_detour_m > 0; });
}

std::string overview(const FieldTrip& trip) {
    const FieldSummary& s = trip.summary;
    std::string html;
    if (!s.nothing.empty()) html += "<p><b>" + escaped(s.nothing) + "</b></p>";
    if (s.start) {
        html += "<p>Start and end: " + grid_text(*s.start);
        if (s.start_degrees) html += ", " + escaped(field::degrees_text(s.start_degrees->y, s.start_degrees->x));
        html += " (" + escaped(s.start_read) + ").</p>";
    }
    if (!s.stops.empty()) {
        html +=
            "<table class=\"walk\"><tr><th>stop</th><th>east</th><th>north</th><th>latitude, longitude</th><th>way "
            "there</th><th>gain</th></tr>";
        for (std::size_t i = 0; i < s.stops.size(); ++i) {
            const FieldStop& stop = s.stops[i];
            char gain[32];
            std::snprintf(gain, sizeof gain, "%.2g ha", stop.gain_ha);
            html += "<tr><td>" + escaped(stop.name) + "</td><td>" + std::to_string(std::lround(stop.place.x)) +
                    "</td><td>" + std::to_string(std::lround(stop.place.y)) + "</td><td>" +
                    escaped(field::degrees_text(stop.degrees.y, stop.degrees.x)) + "</td><td>" +
                    (stop.leg_m > 0
                         ? length_words(stop.leg_m) +
                               (s.with_terrain ? ", up " + std::to_string(std::lround(stop.leg_ascent_m)) + " m" : "") +
                               ", " + minutes_words(stop.leg_minutes)
                         : std::string("start")) +
                    "</td><td>" + gain + "</td></tr>";
        }
        html += "</table><p>In all " + length_words(s.walk_m) +
                (s.with_terrain ? " with " + std::to_string(std::lround(s.ascent_m)) + " m of ascent"
                                : ", ascents not counted") +
                ": " + minutes_words(s.walk_minutes) + " on foot by Naismith's rule and " +
                minutes_words(s.stop_minutes) + " at the stops. Ways are straight lines" +
                (goes_round_no_go(s) ? ", and go round no-go areas" : "") +
                ": real ones are longer. The gain is the area expected to be corrected.</p>";
        if (s.last_leg_crosses_no_go) html += "<p><b>The straight way back crosses a no-go area: go round it.</b></p>";
    }
    if (!s.left_out.empty()) {
        html += "<p>Left out of the walk: ";
        for (std::size_t i = 0; i < s.left_out.size(); ++i)
            html += (i > 0 ? "; " : "") + grid_text(s.left_out[i].place) + " (" + escaped(s.left_out[i].reason) + ")";
        html += ".</p>";
    }
    html +=
        "<p>On the maps: black lines are contacts where they should run, dashed grey ones the draft where it differs; "
        "red bands hold the contacts to check with 90 % "
        "probability; small dots are the stops so far; hatched red areas are no-go.</p>";
    if (!s.stops.empty() && !qr_code(geo_uri(s.stops.front().degrees), code_mm).empty())
        html +=
            "<p>The code beside each stop is its place in WGS 84. A telephone that reads it can show the place on a "
            "map.</p>";
    html +=
        "<p class=\"caution\">Caution: before digging or augering find out what is buried there (cables, pipes, "
        "drains), and ask who owns the land. Do not enter trenches or pits "
        "that are not shored as local rules demand. Dilute acid burns: goggles, gloves, water at hand. On remote land "
        "do not go alone, and leave word. This sheet serves mapping; it is "
        "no basis for foundations, slopes, wells or land use without a licensed professional and the local codes.</p>";
    return html;
}

const char* const style = R"(
  * { box-sizing: border-box; }
  body { font: 9.5pt/1.3 "DejaVu Sans", Arial, sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 186mm; }
  h1 { font-size: 15pt; margin: 0 0 1mm; } h2 { font-size: 11pt; margin: 0 0 1mm; } h3 { font-size: 11pt; margin: 0; }
  p { margin: 0.8mm 0; }
  svg.map { display: block; } svg.map text { font-family: "DejaVu Sans", Arial, sans-serif; }
  .halo { paint-order: stroke; stroke: #fff; stroke-width: 0.7px; stroke-linejoin: round; }
  table { border-collapse: collapse; width: 100%; margin: 1mm 0; }
  .walk th, .walk td { border-bottom: 0.2mm solid #888; padding: 0.4mm 1mm; text-align: left; font-size: 8.5pt; }
  svg.code { float: right; margin: 0 0 0 2mm; } section.stop .blanks { clear: right; }
  .blanks { table-layout: fixed; margin: 0.6mm 0; }
  .blanks th { font-size: 6.5pt; font-weight: normal; text-align: left; border: 0.2mm solid #888; border-bottom: 0; padding: 0 0.6mm; background: #f2f2f2; }
  .blanks td { height: 6.2mm; border: 0.2mm solid #888; }
  .place { font-weight: bold; }
  .caution { border: 0.3mm solid #000; padding: 1mm 1.5mm; font-size: 8.5pt; }
  section { break-inside: avoid; margin-bottom: 3mm; } section.cluster { break-before: page; }
  @media screen { body { padding: 6mm; max-width: 198mm; } }
)";

}  // namespace

std::string field_sheet(const JudgedSurvey& judged, const FieldTrip& trip, Paper paper) {
    const FieldSummary& s = trip.summary;
    const std::string title = (s.title.empty() ? std::string() : s.title + ": ") + "field sheet";
    std::string html =
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta http-equiv=\"Content-Security-Policy\" "
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        "<meta name=\"viewport\" content=\"width=device-width\"><title>" +
        escaped(title) + "</title><style>@page { size: " + (paper == Paper::a4 ? "A4" : "letter") +
        " portrait; margin: 12mm; }" + style + "</style></head><body>\n<h1>" + escaped(title) +
        "</h1>\n<p>Date: ______________ &nbsp; Observer: ______________________ &nbsp; Datum of the receiver: WGS "
        "84</p>\n";
    html += overview(trip);
    const std::vector<Extract> extracts = extracts_of(s.stops);
    const std::vector<model::MapPolygon> polygons =
        extracts.empty() ? std::vector<model::MapPolygon>() : judged.data->map.polygons();
    for (std::size_t k = 0; k < extracts.size(); ++k) {
        const Extract& e = extracts[k];
        html += "\n<section class=\"cluster\"><h2>" + std::string(e.last - e.first == 1 ? "Stop " : "Stops ") +
                std::to_string(e.first + 1) + (e.last - e.first > 1 ? " to " + std::to_string(e.last) : "") +
                ", 1:" + grouped(e.scale) + "</h2>";
        html += Map(judged, trip, polygons, e, k).svg() + "</section>";
        for (std::size_t i = e.first; i < e.last; ++i) html += '\n' + card(s.stops[i]);
    }
    return html + "\n</body></html>\n";
}

}  // namespace subcrop::publish
