// A survey of two units with a straight contact, built by hand: west of x = 0 lies WES, east of it EAS.
#pragma once

#include <cstddef>
#include <memory>
#include <string>

#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

struct InventedSurvey {
    model::Survey survey;
    ProblemLog problems;

    InventedSurvey() {
        survey.title = "two units";
        survey.texts = std::make_shared<TextPool>();
        survey.units.resize(2);
        survey.units[0].code = "WES";
        survey.units[1].code = "EAS";
        survey.contact_sd_m = 25;
        survey.stop_source = survey.horizon_source = "stops.csv";
        survey.map_source = "map.gpkg";
        add_rectangle(0, -2000, 0);
        add_rectangle(1, 0, 2000);
    }

    void add_rectangle(model::UnitIndex unit, double from_x, double to_x) {
        survey.map.push_back({unit,
                              static_cast<std::int64_t>(survey.map.size() + 1),
                              {{{from_x, -2000}, {to_x, -2000}, {to_x, 2000}, {from_x, 2000}, {from_x, -2000}}, {}}});
    }

    /// A stop with one subsoil horizon of this moist colour and texture class; empty text: not noted.
    model::Stop& add_stop(double x, double y, const std::string& colour, const std::string& texture) {
        model::Stop stop;
        stop.row = static_cast<std::int64_t>(survey.stops.size() + 1);
        stop.id = "S" + std::to_string(stop.row);
        stop.position = {x, y};
        stop.position_sd_m = 8;
        if (!colour.empty() || !texture.empty()) {
            model::Horizon horizon;
            horizon.row = stop.row;
            horizon.designation = survey.texts->intern("Bw");
            horizon.colour_moist = survey.texts->intern(colour);
            horizon.texture = survey.texts->intern(texture);
            stop.first_horizon = static_cast<std::uint32_t>(survey.horizons.size());
            stop.horizon_count = 1;
            survey.horizons.push_back(horizon);
        }
        survey.stops.push_back(stop);
        return survey.stops.back();
    }

    /// Stops on a grid of 200 m over both units, each with soil usual there: reddish loam west, olive clay east, with
    /// neighbouring chips and classes mixed in.
    void add_usual_stops() {
        const char* const west[] = {"5YR 4/6", "5YR 4/4", "2.5YR 4/6", "7.5YR 4/4"};
        const char* const east[] = {"5Y 5/3", "5Y 5/2", "2.5Y 5/3", "5Y 4/3"};
        const char* const loams[] = {"L", "SL", "L", "SCL"};
        const char* const clays[] = {"C", "SIC", "C", "CL"};
        int i = 0;
        for (double x = -1900; x < 2000; x += 200) {
            for (double y = -1900; y < 2000; y += 400, ++i) {
                if (x < 0)
                    add_stop(x, y, west[i % 4], loams[(i / 3) % 4]);
                else
                    add_stop(x, y, east[i % 4], clays[(i / 3) % 4]);
            }
        }
    }

    struct Judged {
        std::unique_ptr<model::Reduced> reduced;
        std::unique_ptr<geo::UnitMap> map;
        Fit fit;
    };

    Judged judge(unsigned threads = 1) {
        Judged judged;
        Progress silent;
        judged.reduced = std::make_unique<model::Reduced>(model::reduce(survey, problems));
        geo::UnitMapOptions options;
        options.contact_sd_m = survey.contact_sd_m;
        options.source = survey.map_source;
        judged.map = std::make_unique<geo::UnitMap>(survey.map, survey.units.size(), options, problems);
        judged.fit = fit_stops(survey, *judged.reduced, *judged.map, threads, problems, silent);
        return judged;
    }
};

}  // namespace subcrop::infer
