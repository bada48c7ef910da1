// Times of the library's hot loops, each on the invented survey of make_large_survey held in memory. Build with
// -DSUBCROP_BENCH=ON in a Release folder and run  build/bench/tests/bench/micro_bench --benchmark_filter=unit_at
//
// 'in order' asks for stops as they were walked, 'shuffled' in random order, which shows what the cache does for the
// first.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "bench/invented_ground.hpp"
#include "bench/invented_soil.hpp"
#include "bench/invented_stops.hpp"
#include "bench/random.hpp"
#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/blocks.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/signature.hpp"

namespace {

using namespace subcrop;

constexpr std::size_t stop_count = 100'000;
constexpr std::size_t polygon_count = 10'000;
constexpr std::size_t unit_count = 20;
constexpr double contact_sd_m = 25;

model::Survey make_survey() {
    const bench::InventedGround ground(polygon_count, unit_count, 1);
    const bench::InventedSoils soils(unit_count, 11);
    model::Survey survey;
    survey.texts = std::make_shared<TextPool>();
    survey.contact_sd_m = contact_sd_m;
    for (std::size_t unit = 0; unit < unit_count; ++unit) {
        model::LegendUnit entry;
        entry.code = "U" + std::to_string(unit + 1);
        survey.units.push_back(entry);
    }
    for (std::size_t i = 0; i < ground.polygon_count(); ++i) {
        survey.map.push_back({static_cast<model::UnitIndex>(ground.drafted(i)),
                              static_cast<std::int64_t>(i) + 1,
                              {ground.polygon(i), {}}});
    }
    bench::walk(ground, soils, stop_count, 21, [&](const bench::InventedStop& made) {
        TextPool& texts = *survey.texts;
        model::Horizon horizon;
        horizon.row = static_cast<std::int64_t>(survey.stops.size()) + 1;
        horizon.colour_moist = texts.intern(made.soil.colour_moist);
        horizon.colour_dry = texts.intern(made.soil.colour_dry);
        horizon.texture = texts.intern(made.soil.texture);
        horizon.effervescence = texts.intern(made.soil.effervescence);
        horizon.fragment_kind = texts.intern(made.soil.fragment_kind);
        model::Stop stop;
        stop.row = horizon.row;
        stop.id = std::to_string(made.traverse) + "-" + std::to_string(made.seq);
        stop.position = made.position;
        stop.position_sd_m = made.position_sd_m;
        stop.traverse = texts.intern(std::to_string(made.traverse));
        stop.seq = static_cast<double>(made.seq);
        stop.landform = texts.intern(made.soil.landform);
        if (made.rock_seen) stop.unit_seen = static_cast<model::UnitIndex>(made.rock);
        stop.first_horizon = static_cast<std::uint32_t>(survey.horizons.size());
        stop.horizon_count = 1;
        survey.horizons.push_back(horizon);
        survey.stops.push_back(stop);
    });
    return survey;
}

/// Everything the loops need, made once.
struct Data {
    ProblemLog problems;
    model::Survey survey = make_survey();
    model::Reduced reduced = model::reduce(survey, problems);
    geo::UnitMap map{survey.map, unit_count, {.contact_sd_m = contact_sd_m}, problems};
    std::vector<infer::Channel> channels = infer::build_channels(survey, reduced);
    std::vector<Point> in_order;
    std::vector<Point> shuffled;

    Data() {
        for (const model::Stop& stop : survey.stops) in_order.push_back(stop.position);
        shuffled = in_order;
        bench::Random random(3);
        for (std::size_t i = shuffled.size(); i > 1; --i) std::swap(shuffled[i - 1], shuffled[random.index(i)]);
    }
};

const Data& data() {
    static const Data made;
    return made;
}

const std::vector<Point>& places(const benchmark::State& state) {
    return state.range(0) == 0 ? data().in_order : data().shuffled;
}

void say_order(benchmark::State& state) { state.SetLabel(state.range(0) == 0 ? "in order" : "shuffled"); }

std::vector<std::string> notations() {
    std::vector<std::string> all;
    for (const model::ColourValue& colour : data().reduced.colour_moist.values) all.push_back(colour.notation);
    return all;
}

void parse_munsell(benchmark::State& state) {
    const std::vector<std::string> texts = notations();
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(field::parse_munsell(texts[i]));
        i = i + 1 < texts.size() ? i + 1 : 0;
    }
}
BENCHMARK(parse_munsell);

void munsell_to_lab(benchmark::State& state) {
    std::vector<field::Munsell> chips;
    for (const std::string& text : notations()) chips.push_back(field::parse_munsell(text).value->chips.front());
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(field::to_lab(chips[i]));
        i = i + 1 < chips.size() ? i + 1 : 0;
    }
}
BENCHMARK(munsell_to_lab);

void ciede2000(benchmark::State& state) {
    const auto& colours = data().reduced.colour_moist.values;
    std::size_t i = 0;
    for (auto _ : state) {
        const std::size_t next = i + 1 < colours.size() ? i + 1 : 0;
        benchmark::DoNotOptimize(field::colour_difference(colours[i].lab, colours[next].lab));
        i = next;
    }
}
BENCHMARK(ciede2000);

void texture_classify(benchmark::State& state) {
    bench::Random random(5);
    std::vector<field::GrainSize> sizes;
    for (int i = 0; i < 1024; ++i) {
        const double clay = random.uniform(0, 100);
        const double silt = random.uniform(0, 100 - clay);
        sizes.push_back({100 - clay - silt, silt, clay});
    }
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(field::classify(sizes[i]));
        i = (i + 1) % sizes.size();
    }
}
BENCHMARK(texture_classify);

void reduce_notes(benchmark::State& state) {
    for (auto _ : state) {
        ProblemLog problems;
        benchmark::DoNotOptimize(model::reduce(data().survey, problems));
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(stop_count));
}
BENCHMARK(reduce_notes)->Unit(benchmark::kMillisecond);

void build_unit_map(benchmark::State& state) {
    for (auto _ : state) {
        state.PauseTiming();
        std::vector<model::MapPolygon> polygons = data().survey.map;
        ProblemLog problems;
        state.ResumeTiming();
        const geo::UnitMap map(std::move(polygons), unit_count, {.contact_sd_m = contact_sd_m, .threads = 1}, problems);
        benchmark::DoNotOptimize(map.contacts().size());
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(data().survey.map.size()));
}
BENCHMARK(build_unit_map)->Unit(benchmark::kMillisecond);

void unit_at(benchmark::State& state) {
    const std::vector<Point>& asked = places(state);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(data().map.unit_at(asked[i]));
        i = i + 1 < asked.size() ? i + 1 : 0;
    }
    say_order(state);
}
BENCHMARK(unit_at)->Arg(0)->Arg(1);

void nearest_contact(benchmark::State& state) {
    const std::vector<Point>& asked = places(state);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(data().map.nearest_contact(asked[i], 2000));
        i = i + 1 < asked.size() ? i + 1 : 0;
    }
    say_order(state);
}
BENCHMARK(nearest_contact)->Arg(0)->Arg(1);

void membership(benchmark::State& state) {
    const std::vector<Point>& asked = places(state);
    std::vector<double> shares(unit_count);
    std::size_t i = 0;
    for (auto _ : state) {
        data().map.membership(asked[i], 27, shares);
        benchmark::DoNotOptimize(shares.data());
        benchmark::ClobberMemory();
        i = i + 1 < asked.size() ? i + 1 : 0;
    }
    say_order(state);
}
BENCHMARK(membership)->Arg(0)->Arg(1);

void learn_colour_signature(benchmark::State& state) {
    const auto& channels = data().channels;
    const auto colour = std::find_if(channels.begin(), channels.end(), [](const infer::Channel& channel) {
        return channel.kind == infer::Channel::Kind::continuous && channel.dimensions == 3;
    });
    if (colour == channels.end()) {
        state.SkipWithError("no channel of three dimensions");
        return;
    }
    infer::Training training;
    training.units = unit_count;
    const infer::Blocks blocks = infer::divide_into_blocks(data().in_order, 0, 0);
    training.folds = blocks.folds;
    training.fold_of_stop = blocks.fold_of_stop;
    training.responsibility.assign(stop_count * unit_count, 0);
    training.shares.assign(unit_count, 1.0 / unit_count);
    infer::Judges judges(stop_count, model::no_unit);
    for (std::size_t i = 0; i < stop_count; ++i) {
        const model::UnitIndex unit = data().map.unit_at(data().in_order[i]);
        if (unit == model::no_unit) continue;
        training.responsibility[i * unit_count + static_cast<std::size_t>(unit)] = 1;
        judges[i] = data().survey.stops[i].unit_seen;
    }
    for (auto _ : state) {
        benchmark::DoNotOptimize(infer::learn_signature(*colour, training, judges, 1));
    }
    state.SetLabel(std::to_string(colour->value_count) + " colours, " + std::to_string(unit_count) + " units, " +
                   std::to_string(training.folds) + " folds");
}
BENCHMARK(learn_colour_signature)->Unit(benchmark::kMillisecond);

void fit_stops(benchmark::State& state) {
    for (auto _ : state) {
        ProblemLog problems;
        Progress silent;
        const infer::Fit fit = infer::fit_stops(data().survey, data().reduced, data().map,
                                                static_cast<unsigned>(state.range(0)), problems, silent);
        benchmark::DoNotOptimize(fit.stops.data());
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(stop_count));
    state.SetLabel(std::to_string(state.range(0)) + " threads");
}
BENCHMARK(fit_stops)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

void transform_points(benchmark::State& state) {
    const geo::Crs projected("EPSG:32633");
    const geo::Crs degrees("EPSG:4326");
    std::vector<Point> start(data().in_order.begin(), data().in_order.begin() + 4096);
    geo::Transformation(projected, degrees, start, {}).apply(start);
    const geo::Transformation transformation(degrees, projected, start, {});
    for (auto _ : state) {
        state.PauseTiming();
        std::vector<Point> points = start;
        state.ResumeTiming();
        benchmark::DoNotOptimize(transformation.apply(points));
    }
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(start.size()));
}
BENCHMARK(transform_points)->Unit(benchmark::kMicrosecond);

}  // namespace
