#include "censored_median.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

std::optional<double> censored_median(std::vector<Depth> depths) {
    // A hole that ends where rock begins elsewhere was still above it.
    std::sort(depths.begin(), depths.end(),
              [](const Depth& a, const Depth& b) { return a.cm != b.cm ? a.cm < b.cm : a.reached && !b.reached; });
    double deeper = 1;
    std::optional<double> half;
    for (std::size_t i = 0; i < depths.size();) {
        std::size_t end = i, events = 0;
        for (; end < depths.size() && depths[end].cm == depths[i].cm; ++end) events += depths[end].reached ? 1 : 0;
        if (events > 0) {
            if (half) return (*half + depths[i].cm) / 2;
            deeper *= 1 - static_cast<double>(events) / static_cast<double>(depths.size() - i);
            if (std::abs(deeper - 0.5) < 1e-12) half = depths[i].cm;
            else if (deeper < 0.5) return depths[i].cm;
        }
        i = end;
    }
    return half;
}

}  // namespace subcrop::infer
