#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <numeric>
#include <stdexcept>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/text.hpp"

namespace subcrop {
namespace {

TEST(Error, SaysWhereWhatAndHowToMendIt) {
    const Error error({"stops.csv", "", "12", "colour_moist"}, "no such colour", "Write it as 10YR 5/6.");
    EXPECT_STREQ(error.what(), "stops.csv, row 12, field colour_moist: no such colour. Write it as 10YR 5/6.");
    EXPECT_STREQ(Error({}, "nothing to read").what(), "nothing to read");
}

TEST(ProblemLog, SortsWorstFirstThenByPlace) {
    ProblemLog log;
    auto add = [&](Severity severity, const char* source, std::int64_t row) {
        Problem problem;
        problem.severity = severity;
        problem.source = source;
        problem.row = row;
        log.add(problem);
    };
    add(Severity::note, "a", 1);
    add(Severity::error, "b", 9);
    add(Severity::error, "b", 2);
    add(Severity::warning, "a", 5);
    std::vector<std::int64_t> rows;
    for (const Problem& p : log.sorted()) rows.push_back(*p.row);
    EXPECT_THAT(rows, testing::ElementsAre(2, 9, 5, 1));
    EXPECT_EQ(log.count(Severity::error), 2u);
}

TEST(TextPool, KeepsEachTextOnce) {
    TextPool pool;
    const Text a = pool.intern("10YR 5/6");
    for (int i = 0; i < 1000; ++i) pool.intern(std::to_string(i));
    EXPECT_EQ(pool.intern("10YR 5/6"), a);
    EXPECT_EQ(a.str(), "10YR 5/6");
    EXPECT_NE(pool.intern("10YR 5/4"), a);
    EXPECT_TRUE(pool.intern("").empty());
    EXPECT_EQ(Text().str(), "");
}

TEST(ParallelBlocks, CoverEveryItemOnceWhateverTheThreads) {
    for (const unsigned threads : {1u, 2u, 8u}) {
        std::vector<std::atomic<int>> seen(1003);
        parallel_blocks(seen.size(), 10, threads, [&](std::size_t begin, std::size_t end, unsigned worker) {
            EXPECT_LT(worker, threads);
            EXPECT_EQ(begin % 10, 0u);
            for (std::size_t i = begin; i < end; ++i) ++seen[i];
        });
        for (const auto& count : seen) EXPECT_EQ(count, 1);
    }
    parallel_blocks(0, 10, 2, [](std::size_t, std::size_t, unsigned) { FAIL(); });
}

TEST(ParallelBlocks, RethrowsWhatABlockThrows) {
    EXPECT_THROW(parallel_blocks(100, 1, 3,
                                 [](std::size_t begin, std::size_t, unsigned) {
                                     if (begin == 50) throw std::runtime_error("block 50");
                                 }),
                 std::runtime_error);
}

}  // namespace
}  // namespace subcrop
