#include "publish/chapter/texture_triangle.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <numbers>

#include "publish/map_colours.hpp"

namespace subcrop::publish::chapter {

namespace {

using Corners = std::vector<std::pair<double, double>>;

/// In the order of TextureClass.
const std::array<Corners, field::texture_class_count>& all_corners() {
    static const std::array<Corners, field::texture_class_count> corners{{
        {{100, 0}, {85, 0}, {90, 10}},
        {{85, 0}, {70, 0}, {85, 15}, {90, 10}},
        {{70, 0}, {50, 0}, {43, 7}, {52, 7}, {52, 20}, {80, 20}, {85, 15}},
        {{43, 7}, {23, 27}, {45, 27}, {52, 20}, {52, 7}},
        {{50, 0}, {20, 0}, {8, 12}, {0, 12}, {0, 27}, {23, 27}, {43, 7}},
        {{20, 0}, {0, 0}, {0, 12}, {8, 12}},
        {{80, 20}, {52, 20}, {45, 27}, {45, 35}, {65, 35}},
        {{45, 27}, {20, 27}, {20, 40}, {45, 40}},
        {{20, 27}, {0, 27}, {0, 40}, {20, 40}},
        {{65, 35}, {45, 35}, {45, 55}},
        {{20, 40}, {0, 40}, {0, 60}},
        {{45, 40}, {20, 40}, {0, 60}, {0, 100}, {45, 55}},
    }};
    return corners;
}

}  // namespace

std::span<const std::pair<double, double>> corners_of(field::TextureClass texture_class) {
    return all_corners()[static_cast<std::size_t>(texture_class)];
}

Svg texture_triangle(const std::vector<std::pair<field::GrainSize, double>>& horizons, std::string_view colour) {
    constexpr double side = 76, left = 10, top = 7;
    const double high = side * std::numbers::sqrt3 / 2;
    Svg drawing(side + 2 * left, high + top + 8);
    const auto at = [&](double sand, double clay) {
        return Point{left + side * ((100 - sand - clay) + clay / 2) / 100, top + high * (1 - clay / 100)};
    };
    const std::string thin = "fill=\"none\" stroke=\"#7d868c\" stroke-width=\"0.2\"";
    for (std::size_t c = 0; c < field::texture_class_count; ++c) {
        const auto corners = corners_of(static_cast<field::TextureClass>(c));
        std::vector<Point> outline;
        Point middle{0, 0};
        for (const auto& [sand, clay] : corners) {
            outline.push_back(at(sand, clay));
            middle.x += outline.back().x / static_cast<double>(corners.size());
            middle.y += outline.back().y / static_cast<double>(corners.size());
        }
        outline.push_back(outline.front());
        drawing.polyline(outline, thin);
        drawing.text(middle.x, middle.y + 0.9, 2.3, field::code(static_cast<field::TextureClass>(c)), "middle",
                     "fill=\"#41494f\"");
    }
    const Point sand_corner = at(100, 0), silt_corner = at(0, 0), clay_corner = at(0, 100);
    drawing.polyline({sand_corner, silt_corner, clay_corner, sand_corner},
                     std::string("fill=\"none\" stroke=\"") + ink + "\" stroke-width=\"0.35\"");
    drawing.text(sand_corner.x, sand_corner.y + 4, 2.8, "100 % sand", "middle");
    drawing.text(silt_corner.x, silt_corner.y + 4, 2.8, "100 % silt", "middle");
    drawing.text(clay_corner.x, clay_corner.y - 2, 2.8, "100 % clay", "middle");
    for (const auto& [size, count] : horizons) {
        const Point p = at(size.sand, size.clay);
        drawing.circle(
            p.x, p.y, std::max(0.3, 0.8 * std::sqrt(count)),
            "fill=\"" + std::string(colour) + "\" fill-opacity=\"0.75\" stroke=\"" + ink + "\" stroke-width=\"0.2\"");
    }
    return drawing;
}

}  // namespace subcrop::publish::chapter
