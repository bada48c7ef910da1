// What lies at any place of the map, by draft and stops together, where the revised map has it, and how far the nearest
// contact is.
//
// Prints for sampledata/survey.json at 541000 east, 6231800 north:
//     drawn as Pm, nearest contact 20 m off
//       0.01 Ha
//       0.20 Os
//       0.76 Pm
//       0.01 Ll
//       0.01 Gg
//       0.01 Ss
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/prepared_survey.hpp"

using namespace subcrop;

int main(int argc, char** argv) try {
    if (argc < 4) return 2;
    const unsigned threads = 2;
    ProblemLog problems;
    Progress progress;
    const auto data = publish::prepare_survey(io::read_survey_file(argv[1]), threads, problems, progress);
    const auto fit = infer::fit_stops(data.survey, data.reduced, data.map, threads, problems, progress);

    const Point place{std::atof(argv[2]), std::atof(argv[3])};  // in the survey's own projection
    const model::UnitIndex drawn = data.map.unit_at(place);
    std::printf("drawn as %s",
                drawn == model::no_unit ? "nothing" : data.survey.units[static_cast<std::size_t>(drawn)].code.c_str());
    if (const auto nearest = data.map.nearest_contact(place, 1000))
        std::printf(", nearest contact %.0f m off", nearest->distance_m);
    std::printf("\n");

    std::vector<float> p(data.survey.units.size());
    fit.answer.at(place, p);
    for (std::size_t u = 0; u < p.size(); ++u) {
        if (p[u] >= 0.005F) std::printf("  %.2f %s\n", static_cast<double>(p[u]), data.survey.units[u].code.c_str());
    }
} catch (const Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
