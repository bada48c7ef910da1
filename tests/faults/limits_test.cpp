// Too little disk, memory or permission: the message says so, the exit code is 1 and the old results stay.
#include <gmock/gmock.h>
#include <sched.h>
#include <sys/mount.h>

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
        ASSERT_EQ(whole.fault(folder, true), "") << "some of the old results are gone";
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
    }
}

/// A disk in memory over a folder, seen by this process and those it starts alone.
class SmallDisk {
public:
    explicit SmallDisk(const fs::path& folder) : folder_(folder) {
        mounted_ = geteuid() == 0 && unshare(CLONE_NEWNS) == 0 &&
                   mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) == 0 &&
                   mount("none", folder_.c_str(), "tmpfs", 0, nullptr) == 0;
    }
    SmallDisk(const SmallDisk&) = delete;
    SmallDisk& operator=(const SmallDisk&) = delete;
    ~SmallDisk() {
        if (mounted_) umount2(folder_.c_str(), MNT_DETACH);
    }
    bool mounted() const { return mounted_; }
    std::uintmax_t used_bytes() const {
        const fs::space_info space = fs::space(folder_);
        return space.capacity - space.free;
    }
    bool resize(std::uintmax_t bytes) const {
        return mount("none", folder_.c_str(), "tmpfs", MS_REMOUNT, ("size=" + std::to_string(bytes)).c_str()) == 0;
    }

private:
    fs::path folder_;
    bool mounted_ = false;
};

TEST(Limits, ASmallDiskThatFillsAtEveryStage) {
    const FaultFolder folder;
    const WholeResults whole(folder);
    const SmallDisk disk(folder.results());
    if (!disk.mounted()) GTEST_SKIP() << "only root may mount a disk, and not within a changed root";
    ASSERT_EQ(run(folder, "fresh").code, 0);  // the new disk has no records yet
    ASSERT_EQ(run(folder, "old").code, 0);
    const std::uintmax_t old_results = disk.used_bytes();
    constexpr std::uintmax_t steps = 24;
    int failed = 0;
    // Each disk has room for the old results and a growing part of the new ones, which stand beside the old until they
    // are whole.
    for (std::uintmax_t part = 0;; ++part) {
        ASSERT_LE(part, 2 * steps) << "twice the room is not enough";
        SCOPED_TRACE(part);
        ASSERT_TRUE(disk.resize(old_results + part * old_results / steps + 4096));
        const Ending ending = run(folder, "fresh");
        ASSERT_THAT(folder.names_in_results(), ElementsAreArray(whole.names));
        ASSERT_EQ(whole.fault(folder), "");
        ASSERT_FALSE(whole.mixed(folder));
        if (ending.code == 0) break;
        ++failed;
        ASSERT_EQ(ending.code, 1) << ending.signal;
        ASSERT_THAT(ending.said, HasSubstr("the disk is full, or the file is larger than is allowed here. Make room"));
        ASSERT_LE(disk.used_bytes(), old_results) << "litter";
    }
    EXPECT_GT(failed, 8);
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
        if (ending.code == 1) {
            ASSERT_THAT(ending.said, StartsWith("subcrop: "));
        }
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
    fs::permissions(folder.results(),
                    fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read | fs::perms::others_exec);
    const Ending ending = run(folder, "fresh", become_nobody);
    fs::permissions(folder.results(), fs::perms::owner_all);
    EXPECT_EQ(ending.code, 1);
    EXPECT_THAT(
        ending.said,
        HasSubstr(
            "results.gpkg: the folder cannot be written (Permission denied). Name a folder that you may write to."));
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
