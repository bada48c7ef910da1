#include <gtest/gtest.h>

#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {
namespace {

TEST(EvidenceRows, AutomaticKeepsTheReckoningOfSmallSurveysOnly) {
    using model::EvidenceRows;
    EXPECT_EQ(evidence_rows(EvidenceRows::automatic, 100'000), EvidenceRows::top);
    EXPECT_EQ(evidence_rows(EvidenceRows::automatic, 100'001), EvidenceRows::none);
    EXPECT_EQ(evidence_rows(EvidenceRows::all, 1'000'000), EvidenceRows::all);
    EXPECT_EQ(evidence_rows(EvidenceRows::none, 1), EvidenceRows::none);
}

}  // namespace
}  // namespace subcrop::publish
