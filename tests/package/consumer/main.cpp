// Uses the outermost layer, so that everything below it must link.
#include <cstdio>

#include "subcrop/core/error.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/publish/survey_run.hpp"

int main(int argc, char** argv) {
    if (argc < 2) return 2;
    try {
        subcrop::Progress progress;
        const auto summary = subcrop::publish::check_survey(argv[1], {}, progress);
        std::printf("%s: %zu stops, %zu polygons\n", summary.title.c_str(), summary.stops, summary.polygons);
    } catch (const subcrop::Error& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 1;
    }
}
