// A kind of evidence of your own: the slope noted at each stop. How well does it alone name the unit?
//
// A measurement in a column of the stop table needs none of this: name it under `evidence` in the survey file.
//
// Prints for sampledata/survey.json:
//     slope: noted at 187 stops
//     log loss at hidden stops 1.69, by the units' shares alone 1.71
#include <cmath>
#include <cstdio>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/blocks.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/signature.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/prepared_survey.hpp"

using namespace subcrop;

namespace {

/// Each slope is a value of its own, on a line.
infer::Channel slope_channel(const model::Survey& survey) {
    infer::Channel channel;
    channel.name = "slope";
    channel.kind = infer::Channel::Kind::continuous;
    channel.dimensions = 1;
    for (const model::Stop& stop : survey.stops) {
        channel.value_of_stop.push_back(stop.slope_deg ? static_cast<std::int32_t>(channel.value_count++) : -1);
        if (stop.slope_deg) channel.coordinates.push_back(*stop.slope_deg);
    }
    return channel;
}

}  // namespace

int main(int argc, char** argv) try {
    if (argc < 2) return 2;
    const unsigned threads = 2;
    ProblemLog problems;
    Progress progress;
    const auto data = publish::prepare_survey(io::read_survey_file(argv[1]), threads, problems, progress);
    const std::size_t units = data.survey.units.size();

    // The unit drawn at stops far from contacts counts as known. Neighbours are hidden together with each stop.
    std::vector<Point> places;
    infer::Judges known;
    for (const model::Stop& stop : data.survey.stops) {
        places.push_back(stop.position);
        const bool near_contact = data.map.nearest_contact(stop.position, 2 * data.survey.contact_sd_m).has_value();
        known.push_back(near_contact ? model::no_unit : data.map.unit_at(stop.position));
    }
    const infer::Blocks blocks = infer::divide_into_blocks(places, 0, 100);
    infer::Training training{units, blocks.folds, blocks.fold_of_stop, std::vector<float>(places.size() * units, 0),
                             std::vector<double>(units, 0)};
    double count = 0;
    for (std::size_t s = 0; s < known.size(); ++s) {
        if (known[s] == model::no_unit) continue;
        training.responsibility[s * units + static_cast<std::size_t>(known[s])] = 1;
        training.shares[static_cast<std::size_t>(known[s])] += 1;
        count += 1;
    }
    std::vector<double> log_shares;
    for (double& share : training.shares)
        log_shares.push_back(std::log(share = (share + 1) / (count + static_cast<double>(units))));

    const infer::Channel slope = slope_channel(data.survey);
    const infer::Signature signature = infer::learn_signature(slope, training, known, threads);
    std::printf("%s: noted at %zu stops\n", slope.name.c_str(), slope.stops_with_value());
    std::printf("log loss at hidden stops %.2f, by the units' shares alone %.2f\n",
                infer::held_out_log_loss(signature, known, log_shares, 1),
                infer::held_out_log_loss(signature, known, log_shares, 0));
} catch (const Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
