// How well the rock of the 100 validation stops of the Jura soil survey is told without a map, from the rock of the 259
// others and their own soil.
//     jura_no_draft build/open_data/jura
#include <cstdio>

#include "reference/jura_soil.hpp"

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fputs("usage: jura_no_draft FOLDER   (made by scripts/get_open_data)\n", stderr);
        return 2;
    }
    const subcrop::reference::JuraResult jura = subcrop::reference::judge_jura(argv[1]);
    std::printf("soil alone                accuracy %.2f  log loss %.3f\n", jura.accuracy, jura.log_loss);
    for (const double soil : {0.5, 1.0}) {
        const auto r = subcrop::reference::judge_jura_without_draft(jura, soil);
        if (soil == 0.5) {
            std::printf("variogram: nugget %.3f, sill %.3f, range %.0f m\n", r.model.nugget, r.model.sill,
                        r.model.range_m);
            std::printf("kriged rock alone         accuracy %.2f  log loss %.3f\n", r.kriging_accuracy,
                        r.kriging_log_loss);
        }
        std::printf("kriged rock x soil^%.1f    accuracy %.2f  log loss %.3f\n", soil, r.accuracy, r.log_loss);
    }
}
