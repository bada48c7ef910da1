#include "infer/description/censored_median.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/infer/relocate.hpp"

namespace subcrop::infer {

namespace {

constexpr double half_tolerance = 1e-9;

/// Where a step curve comes nearest to one half from below: at the step with the largest share of at most one half. If
/// that share is exactly one half, midway to the next such step. A falling curve just reaches one half there. But the
/// limits of the share still deeper may dip at the first depths and rise again.
class HalfWay {
public:
    void step(double cm, double share) {
        if (share <= 0.5 + half_tolerance) nearest_.take(cm, share);
        if (share < 0.5 - half_tolerance) below_.take(cm, share);
    }
    std::optional<double> cm() const {
        return nearest_.cm && below_.cm ? (*nearest_.cm + *below_.cm) / 2 : nearest_.cm;
    }

private:
    struct Step {
        std::optional<double> cm;
        double share = -1;
        void take(double at, double of) {
            if (of <= share + half_tolerance) return;
            cm = at;
            share = of;
        }
    };
    Step nearest_, below_;
};

}  // namespace

MedianInterval censored_median_interval(std::vector<Depth> depths) {
    // A hole that ends at a depth where another hole reached rock was still above rock.
    std::sort(depths.begin(), depths.end(),
              [](const Depth& a, const Depth& b) { return a.cm != b.cm ? a.cm < b.cm : a.reached && !b.reached; });
    double at_risk = 0, deeper = 1, greenwood = 0;
    for (const Depth& depth : depths) at_risk += depth.weight;
    HalfWay middle, low, high;
    for (std::size_t i = 0; i < depths.size();) {
        double events = 0, leaving = 0;
        const double cm = depths[i].cm;
        for (; i < depths.size() && depths[i].cm == cm; ++i) {
            events += depths[i].reached ? depths[i].weight : 0;
            leaving += depths[i].weight;
        }
        if (events > 0) {
            const bool last = at_risk - events < half_tolerance;
            deeper *= last ? 0 : 1 - events / at_risk;
            middle.step(cm, deeper);
            if (!last) {  // if nothing is deeper, the interval is not defined
                greenwood += events / (at_risk * (at_risk - events));
                const double spread = half_width_in_sd * std::sqrt(greenwood) / std::log(deeper);  // below 0
                low.step(cm, std::pow(deeper, std::exp(-spread)));
                high.step(cm, std::pow(deeper, std::exp(spread)));
            }
        }
        at_risk -= leaving;
    }
    return {middle.cm(), low.cm(), high.cm()};
}

std::optional<double> censored_median(std::vector<Depth> depths) {
    return censored_median_interval(std::move(depths)).median;
}

}  // namespace subcrop::infer
