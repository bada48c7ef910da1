// Prints, as JSON, how well soil alone tells the rock at the 100 validation stops of the Jura soil survey.
//     jura_soil_alone build/open_data/jura
#include <cstdio>

#include "reference/jura_soil.hpp"

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fputs("usage: jura_soil_alone FOLDER   (made by scripts/get_open_data)\n", stderr);
        return 2;
    }
    const subcrop::reference::JuraResult result = subcrop::reference::judge_jura(argv[1]);
    std::printf("{\"learnt_from\": %zu, \"stops\": %zu, \"log_loss\": %.4f, \"accuracy\": %.4f, \"channels\": [",
                result.learnt_from, result.judged, result.log_loss, result.accuracy);
    for (std::size_t c = 0; c < result.channels.size(); ++c) {
        std::printf("%s{\"name\": \"%s\", \"weight\": %.3f, \"bandwidth\": %.2f}", c > 0 ? ", " : "",
                    result.channels[c].c_str(), result.weights[c], result.bandwidths[c]);
    }
    std::puts("]}");
}
