// Small invented surveys: 40 to 220 stops on five to ten traverses, three units, a draft that is right but for one
// stretch of contact, wrong by 40 to 100 m, that three traverses or more cross.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "infer/invented_survey.hpp"

namespace subcrop::bench {

struct FewStopsSurvey {
    infer::InventedSurvey made;
    double from_y = 0, to_y = 0;  ///< of the wrong stretch, tapers included
    double off_m = 0;             ///< east of the truth, at its middle; 0: the draft is right
    std::size_t traverses_across = 0;
};

class FewStopsMaker {
public:
    explicit FewStopsMaker(unsigned seed) : random_(seed) {}

    void make(bool wrong, FewStopsSurvey& result) {
        model::Survey& survey = result.made.survey;
        survey.units.resize(3);
        survey.units[2].code = "MID";
        survey.map.clear();
        survey.contact_sd_m = 30;
        for (double& phase : phases_) phase = any(0, 2 * std::numbers::pi);
        const auto traverses = static_cast<int>(any(5, 10.999));
        const int stops = static_cast<int>(any(40, 220.999));
        const int each = std::max(7, stops / traverses);
        const double spacing = any(30, 70);

        // The wrong stretch lies on the western contact and takes in three traverses or more, not all.
        const double between = height / traverses;
        const int across = std::max(3, static_cast<int>(any(3, traverses - 0.001)));
        const int first = static_cast<int>(any(0, traverses - across + 0.999));
        result.traverses_across = static_cast<std::size_t>(across);
        result.from_y = between * (first + 0.1);
        result.to_y = between * (first + across - 0.1);
        const double off = any(40, 100) * (any(0, 1) < 0.5 ? -1 : 1);
        if (wrong) result.off_m = off;
        const auto drafted_west = [&](double y) {
            const double taper = 0.35 * between, inside = std::min(y - result.from_y, result.to_y - y) / taper;
            const double share = inside <= 0 ? 0 : inside >= 1 ? 1 : 0.5 - 0.5 * std::cos(std::numbers::pi * inside);
            return west(y) + share * result.off_m;
        };

        // Units from west to east: 0, 2, 1.
        Line a, b;
        for (double y = 0; y <= height; y += step) {
            a.push_back({drafted_west(y), y});
            b.push_back({east(y), y});
        }
        const auto band = [&](model::UnitIndex unit, const Line& left, const Line& right) {
            Ring ring = right;
            ring.insert(ring.end(), left.rbegin(), left.rend());
            ring.push_back(ring.front());
            survey.map.push_back({unit, static_cast<std::int64_t>(survey.map.size()) + 1, {ring, {}}});
        };
        band(0, {{0, 0}, {0, height}}, a);
        band(2, a, b);
        band(1, b, {{width, 0}, {width, height}});

        for (int t = 0; t < traverses; ++t) {
            const double y0 = between * (t + 0.5) + any(-0.15, 0.15) * between;
            double x = west(y0) - spacing * any(0.35, 0.65) * each;
            x = std::max(x, 20.0);
            for (int i = 0; i < each; ++i, x += spacing * any(0.7, 1.3)) {
                const double y = y0 + any(-15, 15);
                if (x > width - 20) break;
                const model::UnitIndex truth = x < west(y) ? 0 : x < east(y) ? 2 : 1;
                write_down(result.made, survey, truth, {x, y}, t, i);
            }
        }
    }

    double west(double y) const { return 800 + wave(y, 0); }
    double east(double y) const { return 1550 + wave(y, 2); }

private:
    static constexpr double width = 2400, height = 1600, step = 40;
    double any(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
    double normal() { return std::normal_distribution<double>()(random_); }
    double wave(double y, int first) const {
        const auto f = static_cast<std::size_t>(first);
        return 90 * std::sin(2 * std::numbers::pi * y / 1500 + phases_[f]) +
               35 * std::sin(2 * std::numbers::pi * y / 610 + phases_[f + 1]);
    }

    /// Half of the scatter is shared by stops of one traverse that follow one another.
    void write_down(infer::InventedSurvey& made, model::Survey& survey, model::UnitIndex unit, Point place,
                    int traverse, int number) {
        static constexpr double hue[] = {2.2, 5.6, 3.9}, clay[] = {0.9, 4.1, 2.6};
        static const char* const hues[] = {"10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y"};
        static const char* const textures[] = {"LS", "SL", "L", "CL", "SIC", "C"};
        for (double& drift : drift_) drift = number == 0 ? normal() : 0.8 * drift + 0.6 * normal();
        const auto u = static_cast<std::size_t>(unit);
        const auto pick = [&](double at, int count) {
            return std::clamp(static_cast<int>(std::lround(at)), 0, count - 1);
        };
        const int h = pick(hue[u] + 0.45 * drift_[0] + 0.45 * normal(), 7);
        const int c = pick(clay[u] + 0.45 * drift_[1] + 0.45 * normal(), 6);
        const std::string colour = std::string(hues[h]) + " " + std::to_string(4 + (any(0, 1) < 0.4)) + "/" +
                                   std::to_string(4 + 2 * (any(0, 1) < 0.4));
        const Point measured{place.x + 5 * normal(), place.y + 5 * normal()};
        const bool seen = any(0, 1) < 0.05;
        model::Stop& stop = made.add_stop(measured.x, measured.y, colour, textures[c]);
        stop.position_sd_m = 5;
        stop.traverse = survey.texts->intern("T" + std::to_string(traverse));
        if (seen) stop.unit_seen = unit;
    }

    std::mt19937 random_;
    double phases_[4] = {};
    double drift_[2] = {};
};

}  // namespace subcrop::bench
