// Reads a survey and judges every stop.
//
// Prints for sampledata/survey.json:
//     Hesk valley, isle of Ulsvey: 220 stops
//       175 agrees
//         2 conflicts
//        12 near_contact
//        15 undecided
//        16 transported
//     01-10: The soil is probably transported (alluvium: rounded fragment ...
//     10-04: For Kb over Os: kind of fragments basalt (5.9 to 1), subsoil ...
#include <array>
#include <cstdio>
#include <string>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/prepared_survey.hpp"

using namespace subcrop;

int main(int argc, char** argv) try {
    if (argc < 2) return 2;
    const unsigned threads = 2;
    ProblemLog problems;  // bad records end up here; the run goes on without them
    Progress progress;

    const auto data = publish::prepare_survey(io::read_survey_file(argv[1]), threads, problems, progress);
    const auto fit = infer::fit_stops(data.survey, data.reduced, data.map, threads, problems, progress);

    std::printf("%s: %zu stops\n", data.survey.title.c_str(), data.survey.stops.size());
    std::array<int, infer::verdict_count> count{};
    for (const infer::StopFit& stop : fit.stops) ++count[static_cast<std::size_t>(stop.verdict)];
    for (std::size_t v = 0; v < count.size(); ++v) {
        if (count[v] > 0) std::printf("  %3d %s\n", count[v], to_string(static_cast<infer::Verdict>(v)).data());
    }
    for (std::size_t s = 0; s < fit.stops.size(); ++s) {
        if (fit.stops[s].verdict != infer::Verdict::conflicts) continue;
        const std::string why = fit.reason(s);
        std::printf("%s: %s ...\n", data.survey.stops[s].id.c_str(), why.substr(0, 60).c_str());
    }
} catch (const Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
