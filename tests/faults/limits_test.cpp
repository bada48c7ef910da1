// Too little disk, memory or permission: the message says so, the exit code is 1 and the old results stay.
#include <gmock/gmock.h>

#include "faults/faulty_run.hpp"
#include "under_sanitizer.hpp"

namespace subcrop::test {
namespace {

using testing::AnyOf;
using testing::ElementsAreArray;
using testing::Eq;
using testing::HasSubstr;
using testing::StartsWith;

void limit(int what, rlim_t value) {
    const rlimit both{value, value};
    setrlimit(static_cast<__rlimit_resource>(what), &both);
}

/// Root may write anywhere, and nobody may not.
void become_nobody() {
    if (geteuid() != 0) return;
    constexpr unsigned nobody = 65534;
    if (setgid(nobody) != 0 || setuid(nobody) != 0) _exit(126);
}

TEST(Limits, AFullDiskAtEveryStage) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    std::uintmax_t largest = 0;
    for (const std::string& name : whole.names) largest = std::max(largest, fs::file_size(folder.results() / name));
    // The largest file needs all of itself, so that each of these is too little at one place or another.
    for (int part = 0; part < 24; ++part) {
        const rlim_t bytes = largest * static_cast<std::uintmax_t>(part) / 24;
        SCOPED_TRACE(bytes);
        const Ending ending = run(folder, "fresh", [&] {
            limit(RLIMIT_FSIZE, std::max<rlim_t>(bytes, 512));  // the message itself goes to a file
        });
        ASSERT_EQ(ending.code, 1) << ending.signal;
        ASSERT_THAT(ending.said, HasSubstr("the disk is full, or the file is larger than is allowed here. Make room"));
        ASSERT_EQ(whole.fault(folder), "");
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
    }
}

TEST(Limits, LittleMemoryIsAnErrorAndNoCrash) {
    if (under_sanitizer) GTEST_SKIP() << "addresses cannot be limited here";
    const FaultFolder folder;
    const WholeResults whole(folder);
    int failed = 0, done = 0;
    for (rlim_t megabytes = 100; megabytes <= 900; megabytes += 25) {
        SCOPED_TRACE(megabytes);
        const Ending ending = run(folder, "fresh", [&] { limit(RLIMIT_AS, megabytes << 20); });
        if (ending.said.find("error while loading shared libraries") != std::string::npos) continue;
        ASSERT_EQ(ending.signal, 0) << ending.said;
        ASSERT_THAT(ending.code, AnyOf(Eq(0), Eq(1)));
        if (ending.code == 1) { ASSERT_THAT(ending.said, StartsWith("subcrop: ")); }
        ++(ending.code == 0 ? done : failed);
        ASSERT_EQ(whole.fault(folder), "");
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
    }
    EXPECT_GT(done, 0);
    EXPECT_GT(failed, 0);
}

TEST(Limits, AFolderThatMayNotBeWritten) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    fs::permissions(folder.results(), fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read | fs::perms::others_exec);
    const Ending ending = run(folder, "fresh", become_nobody);
    fs::permissions(folder.results(), fs::perms::owner_all);
    EXPECT_EQ(ending.code, 1);
    EXPECT_THAT(ending.said, HasSubstr("results.gpkg: the folder cannot be written (Permission denied). Name a folder that you may write to."));
    EXPECT_EQ(whole.fault(folder, true), "");
}

TEST(Limits, ASourceThatMayNotBeRead) {
    const FaultFolder folder;
    fs::permissions(folder.path() / "stops.csv", fs::perms::none);
    const Ending ending = run(folder, "fresh", become_nobody);
    EXPECT_EQ(ending.code, 1);
    EXPECT_THAT(ending.said, StartsWith("subcrop: stops.csv: the file may not be read (Permission denied)."));
    EXPECT_TRUE(folder.names_in_results().empty());
}

}  // namespace
}  // namespace subcrop::test
