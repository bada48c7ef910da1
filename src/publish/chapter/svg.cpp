#include "publish/chapter/svg.hpp"

#include <cmath>
#include <cstdio>

#include "publish/map_colours.hpp"
#include "publish/xml_text.hpp"

namespace subcrop::publish::chapter {

namespace {

constexpr const char* letters = "font-family=\"DejaVu Sans, Verdana, Arial, sans-serif\"";

}  // namespace

std::string number(double value) {
    const double rounded = std::round(value * 100) / 100;
    char text[48];
    std::snprintf(text, sizeof text, "%.2f", rounded == 0 ? 0.0 : rounded);
    std::string result = text;
    while (result.back() == '0') result.pop_back();
    if (result.back() == '.') result.pop_back();
    return result;
}

std::vector<std::string> broken(std::string_view text, std::size_t characters) {
    std::vector<std::string> lines(1);
    for (std::size_t i = 0; i < text.size();) {
        const std::size_t end = std::min(text.find(' ', i), text.size());
        const std::string_view word = text.substr(i, end - i);
        if (!lines.back().empty() && lines.back().size() + 1 + word.size() > characters) lines.emplace_back();
        lines.back() += (lines.back().empty() ? "" : " ") + std::string(word);
        i = end + 1;
    }
    return lines;
}

void Svg::rectangle(double x, double y, double width, double height, std::string_view style) {
    parts_ += "<rect x=\"" + number(x) + "\" y=\"" + number(y) + "\" width=\"" + number(width) + "\" height=\"" +
              number(height) + "\" " + std::string(style) + "/>\n";
}

void Svg::line(double x1, double y1, double x2, double y2, std::string_view style) {
    parts_ += "<line x1=\"" + number(x1) + "\" y1=\"" + number(y1) + "\" x2=\"" + number(x2) + "\" y2=\"" + number(y2) +
              "\" " + std::string(style) + "/>\n";
}

void Svg::circle(double x, double y, double radius, std::string_view style) {
    parts_ += "<circle cx=\"" + number(x) + "\" cy=\"" + number(y) + "\" r=\"" + number(radius) + "\" " +
              std::string(style) + "/>\n";
}

void Svg::path(std::string_view d, std::string_view style) {
    parts_ += "<path d=\"" + std::string(d) + "\" " + std::string(style) + "/>\n";
}

void Svg::polyline(const std::vector<Point>& points, std::string_view style) {
    std::string list;
    for (const Point& p : points) list += (list.empty() ? "" : " ") + number(p.x) + ',' + number(p.y);
    parts_ += "<polyline points=\"" + list + "\" " + std::string(style) + "/>\n";
}

void Svg::text(double x, double y, double size, std::string_view words, std::string_view anchor,
               std::string_view style) {
    parts_ += "<text x=\"" + number(x) + "\" y=\"" + number(y) + "\" font-size=\"" + number(size) +
              "\" text-anchor=\"" + std::string(anchor) + "\" " + std::string(style) + ">" + escaped(words) +
              "</text>\n";
}

void Svg::place(const Svg& other, double x, double y) {
    parts_ += "<svg x=\"" + number(x) + "\" y=\"" + number(y) + "\" width=\"" + number(other.width_) + "\" height=\"" +
              number(other.height_) + "\" viewBox=\"0 0 " + number(other.width_) + ' ' + number(other.height_) +
              "\">\n" + other.parts_ + "</svg>\n";
}

std::string Svg::inline_markup(std::string_view description) const {
    return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + number(width_) + "mm\" height=\"" + number(height_) +
           "mm\" viewBox=\"0 0 " + number(width_) + ' ' + number(height_) + "\" " + letters + " fill=\"" + ink +
           "\" role=\"img\" aria-label=\"" + escaped(description) + "\">\n" + parts_ + "</svg>\n";
}

std::string Svg::document(std::string_view description) const {
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + inline_markup(description);
}

}  // namespace subcrop::publish::chapter
