#include "publish/report_values.hpp"

#include <cmath>
#include <cstdio>

#include "subcrop/field/munsell.hpp"

namespace subcrop::publish {

namespace {

std::string hex(const field::Srgb& colour) {
    char text[8];
    std::snprintf(text, sizeof text, "#%02x%02x%02x", colour.red, colour.green, colour.blue);
    return text;
}

}  // namespace

Json rounded(double value, int decimals) {
    const double scale = std::pow(10.0, decimals);
    const double result = std::round(value * scale) / scale;
    if (result == std::trunc(result) && std::abs(result) < 1e15) return Json(static_cast<std::int64_t>(result));
    return Json(result);
}

Json rounded(const std::optional<double>& value, int decimals) {
    return value ? rounded(*value, decimals) : Json(nullptr);
}

std::string swatch(const std::string& notation) {
    const auto reading = field::parse_munsell(notation);
    if (!reading.value || reading.value->chips.empty()) return {};
    const field::Srgb a = field::to_srgb(reading.value->chips.front()), b = field::to_srgb(reading.value->chips.back());
    const auto middle = [](std::uint8_t p, std::uint8_t q) { return static_cast<std::uint8_t>((p + q + 1) / 2); };
    return hex({middle(a.red, b.red), middle(a.green, b.green), middle(a.blue, b.blue)});
}

Json unit_or_null(model::UnitIndex unit) { return unit == model::no_unit ? Json(nullptr) : Json(unit); }

void put(Json& object, const char* key, const std::string& text) {
    if (!text.empty()) object[key] = text;
}

void put(Json& object, const char* key, Text text) { put(object, key, text.str()); }

void put(Json& object, const char* key, model::UnitIndex unit) {
    if (unit != model::no_unit) object[key] = unit;
}

}  // namespace subcrop::publish
