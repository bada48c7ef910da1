#include "publish/chapter/map_symbols.hpp"

#include <algorithm>
#include <cmath>

#include "publish/map_colours.hpp"

namespace subcrop::publish::chapter {

using infer::LocationClass;
using infer::Verdict;

std::string contact_name(LocationClass location, bool questionable) {
    return std::string("Contact, identity ") + (questionable ? "or existence questionable" : "and existence certain") +
           ", location " + std::string(to_string(location));
}

std::string contact_line(LocationClass location) {
    const char* dashes = location == LocationClass::approximate ? "3.5 0.8"
                         : location == LocationClass::inferred  ? "1.6 0.8"
                         : location == LocationClass::concealed ? "0.3 0.8"
                                                                : "";
    return std::string("fill=\"none\" stroke=\"") + ink + "\" stroke-width=\"0.3\"" +
           (*dashes != 0 ? " stroke-dasharray=\"" + std::string(dashes) + "\"" : "");
}

void draw_stop(Svg& drawing, double x, double y, Verdict verdict) {
    const auto fill = [](const char* inside, const char* outside, double width) {
        return std::string("fill=\"") + inside + "\" stroke=\"" + outside + "\" stroke-width=\"" + number(width) + "\"";
    };
    switch (verdict) {
        case Verdict::agrees:
            drawing.circle(x, y, 0.7, fill(calm, paper, 0.15));
            break;
        case Verdict::fits:
            drawing.circle(x, y, 0.8, fill(calm, calm, 0.15));
            break;
        case Verdict::conflicts:
            drawing.path("M" + number(x) + ' ' + number(y - 1.5) + "l1.5 1.5l-1.5 1.5l-1.5 -1.5z",
                         fill(warn, ink, 0.2));
            break;
        case Verdict::near_contact:
            drawing.circle(x, y, 0.8, fill(open, ink, 0.2));
            break;
        case Verdict::undecided:
            drawing.circle(x, y, 0.7, fill(paper, open, 0.25));
            break;
        case Verdict::unlike_any_unit:
            drawing.rectangle(x - 0.8, y - 0.8, 1.6, 1.6, fill(odd, paper, 0.15));
            break;
        case Verdict::transported:
            drawing.path("M" + number(x - 1) + ' ' + number(y - 0.7) + "h2l-1 1.7z", fill(paper, sand, 0.25));
            break;
        case Verdict::no_evidence:
        case Verdict::off_map:
            drawing.path("M" + number(x - 0.8) + ' ' + number(y - 0.8) + "l1.6 1.6m0 -1.6l-1.6 1.6",
                         fill("none", open, 0.25));
            break;
    }
}

double round_scale(double width_m, double height_m, double width_mm, double height_mm) {
    const double least = std::max(width_m / width_mm, height_m / height_mm) * 1000;
    for (double power = 10;; power *= 10)
        for (const double step : {1.0, 2.0, 2.5, 5.0})
            if (step * power >= least * (1 - 1e-9)) return step * power;
}

double round_step(double least) {
    const double power = std::pow(10, std::floor(std::log10(least)));
    for (const double step : {1.0, 2.0, 5.0})
        if (step * power >= least * (1 - 1e-9)) return step * power;
    return 10 * power;
}

std::string scale_words(double denominator) {
    std::string digits = std::to_string(std::llround(denominator));
    for (std::ptrdiff_t i = static_cast<std::ptrdiff_t>(digits.size()) - 3; i > 0; i -= 3)
        digits.insert(static_cast<std::size_t>(i), ",");
    return "1:" + digits;
}

double draw_scale_bar(Svg& drawing, double x, double y, double denominator, double max_mm) {
    const double max_m = max_mm * denominator / 1000;
    const double power = std::pow(10, std::floor(std::log10(max_m)));
    const double length_m = 5 * power <= max_m ? 5 * power : 2 * power <= max_m ? 2 * power : power;
    const double mm = length_m * 1000 / denominator;
    const std::string edge = std::string("stroke=\"") + ink + "\" stroke-width=\"0.2\"";
    drawing.rectangle(x, y, mm / 2, 1.5, std::string("fill=\"") + ink + "\" " + edge);
    drawing.rectangle(x + mm / 2, y, mm / 2, 1.5, std::string("fill=\"") + paper + "\" " + edge);
    const bool kilometres = length_m >= 2000;
    const auto words = [&](double m) { return number(kilometres ? m / 1000 : m); };
    drawing.text(x, y + 4.5, 2.6, "0", "middle");
    drawing.text(x + mm / 2, y + 4.5, 2.6, words(length_m / 2), "middle");
    drawing.text(x + mm, y + 4.5, 2.6, words(length_m) + (kilometres ? " km" : " m"), "middle");
    return 6;
}

void draw_north_arrow(Svg& drawing, double x, double y) {
    drawing.path("M" + number(x) + ' ' + number(y) + "v-9",
                 std::string("stroke=\"") + ink + "\" stroke-width=\"0.4\" fill=\"none\"");
    drawing.path("M" + number(x) + ' ' + number(y - 12) + "l1.6 4.5h-3.2z", std::string("fill=\"") + ink + "\"");
    drawing.text(x + 3, y - 8, 3, "N");
    drawing.text(x + 3, y - 4.5, 2.3, "grid north");
}

}  // namespace subcrop::publish::chapter
