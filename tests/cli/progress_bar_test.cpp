#include "cli/progress_bar.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <string>
#include <thread>

namespace subcrop::cli {
namespace {

TEST(ProgressBar, ALongStageIsSeenToGoOn) {
    testing::internal::CaptureStderr();
    {
        ProgressBar bar;
        bar.stage("asking whether contacts should move", 0);
        std::this_thread::sleep_for(std::chrono::milliseconds(3300));  // not a word from the library
    }
    const std::string drawn = testing::internal::GetCapturedStderr();
    EXPECT_NE(drawn.find("asking whether contacts should move ...  2 s"), std::string::npos) << drawn;
    EXPECT_NE(drawn.find("asking whether contacts should move ...  3 s"), std::string::npos) << drawn;
    EXPECT_TRUE(drawn.ends_with("\r\033[K")) << "the line is wiped";
}

TEST(ProgressBar, NothingIsDrawnBeforeTheFirstStage) {
    testing::internal::CaptureStderr();
    {
        ProgressBar bar;
        std::this_thread::sleep_for(std::chrono::milliseconds(1200));
    }
    EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
}

}  // namespace
}  // namespace subcrop::cli
