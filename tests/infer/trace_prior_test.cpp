// Beds traced over the terrain in the shift field: the contact takes the trace's shape, the stops its level.
#include "infer/answer/trace_prior.hpp"

#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "infer/two_units.hpp"

namespace subcrop::infer {
namespace {

double trace_offset(double y) { return 30 * std::cos(y / 350); }

/// The contact drafted at x = 0 runs at x = -trace_offset(y) but for a level that is free.
geo::ContactTrace wavy() {
    geo::ContactTrace trace;
    for (double y = -1000; y <= 1000; y += 100) {
        trace.places.push_back({-trace_offset(y), y});
        trace.normals.push_back({1, 0});
        trace.offsets_m.push_back(trace_offset(y));
    }
    const std::size_t n = trace.places.size();
    for (std::size_t i = 0; i < n * n; ++i)
        trace.precision.push_back(((i / n == i % n ? 1.0 : 0.0) - 1.0 / static_cast<double>(n)) / 36);
    return trace;
}

TEST(TracePrior, TheContactTakesItsShapeFromTheTraceAndItsLevelFromTheStops) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    // Stops at its two ends alone know where it runs: 20 m farther east than the draft has it, on average.
    Testimony testimony = no_testimony();
    for (double y = -1000; y <= 1000; y += y == -900 ? 1800 : 100) {
        for (double x = -110; x < 130; x += 10) {
            const double says = x < 20 - trace_offset(y) ? 2 : -2;
            add_stop(testimony, {x, y}, says, -says, 0, 3);
        }
    }
    DisplacementOptions options = displacement_of(40, 400, 10, 0.05);
    const std::vector<geo::ContactTrace> traces{wavy()};
    const auto misfit = [&] {
        const ShiftField field = fit_two_units(testimony, *judged.map, options, 2);
        EXPECT_TRUE(field.settled());
        double squares = 0;
        int count = 0;
        for (double y = -900; y <= 900; y += 50, ++count)
            squares += std::pow(field.true_place({0, y}).x - (20 - trace_offset(y)), 2);
        return std::sqrt(squares / count);
    };
    const double without = misfit();
    options.traces = traces;
    const double with = misfit();
    EXPECT_LT(with, 0.8 * without) << with << " m instead of " << without;
    EXPECT_GT(trace_evidence(testimony, options), 5);
    options.amplitude_m = 0;
    EXPECT_EQ(trace_evidence(testimony, options), 0);
}

TEST(TracePrior, EvidenceIsThatOfGaussians) {
    // One place, its level not free: N(m; 0, 1 / P + A^2) over N(m; 0, 1 / P) with m = 12, 1 / P = 9, A = 4 at a node
    // far from others.
    geo::ContactTrace trace{0, {{0, 0}}, {{1, 0}}, {12}, {1.0 / 9}, 0};
    const Box box{-100, -100, 100, 100};
    const DisplacementBasis basis(box, 150, 0);
    const TracePrior prior(std::span(&trace, 1), basis, 4, box, 100);
    const double with = -0.5 * (144 / 25.0 + std::log(25.0)), without = -0.5 * (144 / 9.0 + std::log(9.0));
    EXPECT_NEAR(prior.evidence(), with - without, 1e-9);
}

}  // namespace
}  // namespace subcrop::infer
