// A drawing in millimetres, built part by part.
//
//     Svg drawing(80, 60);
//     drawing.rectangle(0, 0, 80, 60, "fill=\"none\" stroke=\"#1b2126\"");
//     drawing.text(40, 30, 3, "Kb", "middle");
//     drawing.document("Korrin Basalt: typical profile")
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::publish::chapter {

/// With at most two decimals, without trailing zeros.
std::string number(double value);

/// Lines with this maximum of characters, broken at spaces.
std::vector<std::string> broken(std::string_view text, std::size_t characters);

class Svg {
public:
    Svg(double width_mm, double height_mm) : width_(width_mm), height_(height_mm) {}

    double width() const { return width_; }
    double height() const { return height_; }
    void set_height(double height_mm) { height_ = height_mm; }

    void rectangle(double x, double y, double width, double height, std::string_view style);
    void line(double x1, double y1, double x2, double y2, std::string_view style);
    void circle(double x, double y, double radius, std::string_view style);
    void path(std::string_view d, std::string_view style);
    void polyline(const std::vector<Point>& points, std::string_view style);
    /// `size`: height of the letters in millimetres; `anchor`: start, middle or end.
    void text(double x, double y, double size, std::string_view words, std::string_view anchor = "start",
              std::string_view style = "");
    /// Another drawing within this one, at its own size; parts outside its frame are cut off.
    void place(const Svg& other, double x, double y);
    void add(std::string_view markup) { parts_ += markup; }

    /// For a page. `description` is for readers who cannot see the drawing.
    std::string inline_markup(std::string_view description) const;
    /// As a separate file.
    std::string document(std::string_view description) const;

private:
    double width_, height_;
    std::string parts_;
};

}  // namespace subcrop::publish::chapter
