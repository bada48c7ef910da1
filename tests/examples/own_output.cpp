// An output of your own: a GeoPackage of the stops whose unit is least sure, with the second most probable unit.
//
// Prints for sampledata/survey.json:
//     7 stops are less sure than 0.6
#include <cstdio>

#include "subcrop/core/error.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/prepared_survey.hpp"

using namespace subcrop;

int main(int argc, char** argv) try {
    if (argc < 3) return 2;
    const unsigned threads = 2;
    const double sure = 0.6;
    ProblemLog problems;
    Progress progress;
    const auto data = publish::prepare_survey(io::read_survey_file(argv[1]), threads, problems, progress);
    const auto fit = infer::fit_stops(data.survey, data.reduced, data.map, threads, problems, progress);

    io::LayerDefinition layer{.name = "unsure", .geometry = io::GeometryKind::point};
    layer.fields = {
        {.name = "stop", .description = "Its name."},
        {.name = "fitted", .description = "The most probable unit."},
        {.name = "next", .description = "The second most probable unit."},
        {.name = "p", .type = io::FieldType::real, .description = "Probability of the most probable unit."}};
    io::LayerWriter writer(argv[2], data.survey.crs_wkt, {.layers = {layer}});
    io::RowBatch rows;
    const auto code = [&](model::UnitIndex unit) {
        return unit == model::no_unit ? std::string() : data.survey.units[static_cast<std::size_t>(unit)].code;
    };
    for (std::size_t s = 0; s < fit.stops.size(); ++s) {
        const infer::StopFit& stop = fit.stops[s];
        if (stop.fitted_unit == model::no_unit || stop.p_fitted >= sure) continue;
        rows.point(data.survey.stops[s].position).text(data.survey.stops[s].id).text(code(stop.fitted_unit));
        rows.text_or_absent(code(stop.next_unit)).real(stop.p_fitted).end_row();
    }
    std::printf("%zu stops are less sure than %.1f\n", rows.rows(), sure);
    writer.append(0, std::move(rows));
    writer.finish();  // before this no file of that name is touched
} catch (const Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
