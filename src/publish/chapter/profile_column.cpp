#include "publish/chapter/profile_column.hpp"

#include <algorithm>
#include <cmath>

#include "publish/map_colours.hpp"
#include "publish/report_values.hpp"

namespace subcrop::publish::chapter {

Svg profile_column(const infer::ProfileSummary& profile) {
    constexpr double mm_a_cm = 0.5, left = 16, width = 16, top = 5, deepest_shown = 20;
    double deepest = 0;
    for (const auto& h : profile.horizons)
        deepest = std::max({deepest, h.top_high_cm.value_or(0), h.bottom_cm.value_or(0),
                            h.top_cm.value_or(-deepest_shown) + deepest_shown});
    if (deepest <= 0) return {0, 0};
    const double end = std::ceil(deepest / 20) * 20;
    Svg drawing(92, top + end * mm_a_cm + 6);
    const auto at = [&](double cm) { return top + cm * mm_a_cm; };
    const std::string thin = std::string("stroke=\"") + ink + "\" stroke-width=\"0.2\"";
    for (std::size_t i = 0; i < profile.horizons.size(); ++i) {
        const auto& h = profile.horizons[i];
        if (!h.top_cm) continue;
        const bool lowest = i + 1 == profile.horizons.size();
        double bottom = h.bottom_cm.value_or(*h.top_cm + deepest_shown);
        if (lowest)
            bottom = std::max(*h.top_cm + deepest_shown / 2, end);
        else if (profile.horizons[i + 1].top_cm)
            bottom = *profile.horizons[i + 1].top_cm;
        const std::string colour = swatch(h.chip);
        drawing.rectangle(left, at(*h.top_cm), width, std::max(0.0, (bottom - *h.top_cm) * mm_a_cm),
                          "fill=\"" + (colour.empty() ? std::string(paper) : colour) + "\" " + thin +
                              (colour.empty() ? " stroke-dasharray=\"1 0.6\"" : ""));
        drawing.text(left + width + 10, at((*h.top_cm + std::min(bottom, end)) / 2) + 1.2, 3.2,
                     h.name + (h.chip.empty() ? ", no colour noted" : ", " + h.chip));
        if (i > 0 && h.top_low_cm && h.top_high_cm) {
            const double x = left + width + 4;
            drawing.line(x, at(*h.top_low_cm), x, at(*h.top_high_cm), thin);
            for (const double cm : {*h.top_low_cm, *h.top_high_cm})
                drawing.line(x - 1.2, at(cm), x + 1.2, at(cm), thin);
            drawing.circle(x, at(*h.top_cm), 0.7, std::string("fill=\"") + ink + "\"");
        }
    }
    for (double cm = 0; cm <= end; cm += 20) {
        drawing.line(left - 1.5, at(cm), left, at(cm), thin);
        drawing.text(left - 2.5, at(cm) + 1, 2.8, number(cm), "end");
    }
    drawing.text(2, top - 1.5, 2.8, "cm");
    return drawing;
}

}  // namespace subcrop::publish::chapter
