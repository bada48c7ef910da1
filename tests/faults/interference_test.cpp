// A run that is killed, stopped, raced or robbed of its sources: the old results are whole or the new ones are.
#include <gmock/gmock.h>

#include <array>
#include <random>
#include <thread>

#include "faults/faulty_run.hpp"

namespace subcrop::test {
namespace {

using testing::AnyOf;
using testing::ElementsAreArray;
using testing::Eq;
using testing::HasSubstr;

std::chrono::microseconds moment(std::mt19937& random, std::chrono::microseconds within) {
    return std::chrono::microseconds(std::uniform_int_distribution<long>(0, within.count())(random));
}

/// Four times fifty kills, so that each lot ends well within the time a test is given.
class Killed : public testing::TestWithParam<unsigned> {};
INSTANTIATE_TEST_SUITE_P(Interference, Killed, testing::Range(11U, 15U));

TEST_P(Killed, AtAnyMomentLeavesWholeFilesAndNoLitterAfterTheNextRun) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    ASSERT_FALSE(whole.names.empty());
    std::mt19937 random(GetParam());
    int killed = 0;
    for (int i = 0; i < 50; ++i) {
        RunningProgram program(folder, i % 2 == 0 ? "fresh" : "old");
        std::this_thread::sleep_for(moment(random, whole.usual_time * 11 / 10));
        program.send(SIGKILL);
        killed += program.wait().signal == SIGKILL;
        ASSERT_EQ(whole.fault(folder), "") << "kill " << i;
    }
    EXPECT_GT(killed, 10);
    ASSERT_EQ(run(folder, "old").code, 0);
    EXPECT_EQ(whole.fault(folder, true), "");
    EXPECT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
}

TEST(Interference, StoppedByTheUserSaysSoAndLeavesNothingBehind) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    std::mt19937 random(22);
    int stopped = 0;
    for (int i = 0; i < 40; ++i) {
        RunningProgram program(folder);
        std::this_thread::sleep_for(moment(random, whole.usual_time));
        const int signal = std::array{SIGINT, SIGTERM, SIGHUP}[static_cast<std::size_t>(i) % 3];
        program.send(signal);
        const Ending ending = program.wait();
        ASSERT_EQ(whole.fault(folder), "");
        ASSERT_FALSE(whole.mixed(folder));
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
        if (ending.code == 0) {  // it was done before
            ASSERT_EQ(run(folder, "old").code, 0);
            continue;
        }
        if (ending.signal == signal && ending.said.empty()) continue;  // while its libraries were being loaded
        ++stopped;
        ASSERT_EQ(ending.code, 128 + signal) << ending.said;
        if (whole.fault(folder, true).empty()) {
            ASSERT_THAT(ending.said, HasSubstr("stopped before it was done. Nothing half written is left"));
        } else {  // at its very end
            ASSERT_THAT(ending.said, HasSubstr("stopped when new files had been put in place. Those are whole"));
            ASSERT_EQ(run(folder, "old").code, 0);
        }
    }
    EXPECT_GT(stopped, 10);
}

TEST(Interference, TwoRunsIntoOneFolder) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    std::mt19937 random(23);
    for (int i = 0; i < 15; ++i) {
        RunningProgram first(folder, "fresh");
        std::this_thread::sleep_for(moment(random, whole.usual_time / 4));
        RunningProgram second(folder, "old");
        const Ending one = first.wait(), other = second.wait();
        ASSERT_TRUE(one.code == 0 || other.code == 0);
        for (const Ending& ending : {one, other}) {
            ASSERT_THAT(ending.code, AnyOf(Eq(0), Eq(1)));
            if (ending.code == 1) {
                ASSERT_THAT(ending.said, HasSubstr("another run is writing this file"));
            }
        }
        ASSERT_EQ(whole.fault(folder), "");
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
    }
}

TEST(Interference, WhoHasTheOldResultsOpenReadsThemToTheEnd) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    std::vector<std::ifstream> readers;
    for (const std::string& name : whole.names) readers.emplace_back(folder.results() / name, std::ios::binary);
    ASSERT_EQ(run(folder, "fresh").code, 0);
    for (std::size_t i = 0; i < readers.size(); ++i) {
        EXPECT_TRUE(std::string(std::istreambuf_iterator<char>(readers[i]), {}) == whole.old[i]) << whole.names[i];
        EXPECT_TRUE(bytes_of(folder.results() / whole.names[i]) == whole.fresh[i]) << whole.names[i];
    }
}

TEST(Interference, ASourceCutShortWhileItIsRead) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    std::mt19937 random(24);
    int failed = 0;
    for (int i = 0; i < 40; ++i) {
        const std::string name =
            std::array{"stops.csv", "horizons.csv", "draft_map.gpkg"}[static_cast<std::size_t>(i) % 3];
        const fs::path source = folder.path() / name;
        const std::string before = bytes_of(source);
        RunningProgram program(folder);
        if (i >= 10)
            std::this_thread::sleep_for(moment(random, whole.usual_time / 2));  // the first before any of it was read
        fs::resize_file(source, std::uniform_int_distribution<std::uintmax_t>(0, before.size() - 1)(random));
        const Ending ending = program.wait();
        std::ofstream(source, std::ios::binary) << before;
        ASSERT_EQ(ending.signal, 0) << name << ": " << ending.said;
        ASSERT_THAT(ending.code, AnyOf(Eq(0), Eq(1)));
        if (ending.code == 0) continue;  // read before, or the rest is a table too: a shorter one
        ++failed;
        ASSERT_THAT(ending.said, testing::StartsWith("subcrop: ")) << name;
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
    }
    EXPECT_GT(failed, 1);
}

}  // namespace
}  // namespace subcrop::test
