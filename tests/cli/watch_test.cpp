// A run that watches its sources, as a person edits them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <string>
#include <thread>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using test::text_of;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using namespace std::chrono_literals;

class Watch : public testing::Test {
protected:
    ~Watch() override {
        if (child_ > 0) {
            kill(child_, SIGKILL);
            waitpid(child_, nullptr, 0);
        }
    }

    void SetUp() override {
        fs::create_directory(folder_);
        survey_ = publish::test::write_survey(folder_);
    }

    void start(std::vector<std::string> words = {}) {
        words.insert(words.begin(), {SUBCROP_EXECUTABLE, "run", survey_.string(), "--watch"});
        std::vector<char*> argv;
        for (std::string& word : words) argv.push_back(word.data());
        argv.push_back(nullptr);
        child_ = fork();
        if (child_ != 0) return;
        dup2(open((holder_.path() / "out").c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_APPEND, 0600), 1);
        dup2(open((holder_.path() / "err").c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_APPEND, 0600), 2);
        alarm(300 * subcrop::test::patience);
        execv(argv[0], argv.data());
        _exit(127);
    }

    std::string out() const { return text_of(holder_.path() / "out"); }
    std::string err() const { return text_of(holder_.path() / "err"); }

    /// What is printed from now on until `text` is among it; a failure where it does not come.
    std::string until(const std::string& text) { return until(text, "out", read_); }
    std::string error_until(const std::string& text) { return until(text, "err", errors_read_); }
    std::string until(const std::string& text, const char* file, std::size_t& read) const {
        const auto end = std::chrono::steady_clock::now() + 60s * subcrop::test::patience;
        while (std::chrono::steady_clock::now() < end) {
            const std::string all = text_of(holder_.path() / file);
            if (all.find(text, read) != std::string::npos) {
                std::this_thread::sleep_for(200ms);  // what belongs to it is printed at once
                const std::string fresh = text_of(holder_.path() / file).substr(read);
                read += fresh.size();
                return fresh;
            }
            std::this_thread::sleep_for(50ms);
        }
        ADD_FAILURE() << "not printed: " << text << "\n" << out() << err();
        return {};
    }
    /// As many editors save: beside it, then renamed.
    void save(const fs::path& file, const std::string& text) const {
        publish::test::write_file(file.string() + "~", text);
        fs::rename(file.string() + "~", file);
    }
    std::string with_line(const std::string& line) const { return text_of(folder_ / "stops.csv") + line + '\n'; }
    int end_by(int signal) {
        kill(child_, signal);
        int status = 0;
        waitpid(child_, &status, 0);
        child_ = -1;
        return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
    }
    double cpu_seconds() const {
        std::ifstream stat("/proc/" + std::to_string(child_) + "/stat");
        std::string word;
        double ticks = 0;
        for (int i = 1; i <= 15 && stat >> word; ++i)
            if (i >= 14) ticks += std::stod(word);
        return ticks / static_cast<double>(sysconf(_SC_CLK_TCK));
    }

    const publish::test::TemporaryFolder holder_{testing::TempDir()};
    const fs::path folder_ = holder_.path() / "survey";
    fs::path survey_;
    pid_t child_ = -1;
    std::size_t read_ = 0, errors_read_ = 0;
};

TEST_F(Watch, RunsAgainOnASavedFileAndSaysOnlyWhatChanged) {
    start();
    const std::string first = until("Ctrl-C ends it.");
    EXPECT_THAT(first, HasSubstr("150 stops judged"));

    // By renaming, and a mistake in it.
    save(folder_ / "stops.csv", with_line("N1,T9,500100,5600500,8,10XR 4/3,L,heather,"));
    const std::string more = until("10XR");
    EXPECT_THAT(more, HasSubstr(": 1 stop more"));
    EXPECT_THAT(more, HasSubstr("  Stop N1 is new: agrees with the draft.\n"));
    EXPECT_THAT(more, HasSubstr("New problems in the data\n"));
    EXPECT_THAT(more, Not(HasSubstr("stops judged")));

    // In place: another file, and the mistake mended.
    std::string stops = text_of(folder_ / "stops.csv");
    stops.replace(stops.find("10XR"), 4, "10YR");
    publish::test::write_file(folder_ / "stops.csv", stops);
    const std::string mended = until("1 problem in the data solved");
    EXPECT_THAT(mended, HasSubstr("the same stops with the same verdicts"));
    EXPECT_THAT(mended, Not(HasSubstr("New problems")));

    EXPECT_THAT(err(), IsEmpty());
    EXPECT_EQ(end_by(SIGINT), 128 + SIGINT);
    EXPECT_EQ(err(), "\nsubcrop: ended. All results are whole.\n");
    // The runs of a sitting leave one record beside that of the first.
    std::size_t records = 0;
    for (const auto& entry : fs::directory_iterator(folder_ / "results/history")) records += entry.is_regular_file();
    EXPECT_EQ(records, 1U);
}

TEST_F(Watch, WaitsQuietlyAndDoesNotHeedItsOwnResultsOrSavesWithoutChange) {
    start();
    until("Ctrl-C ends it.");
    const std::string before = out();
    const double cpu = cpu_seconds();
    EXPECT_GT(cpu, 0);
    save(folder_ / "stops.csv", text_of(folder_ / "stops.csv"));
    publish::test::write_file(folder_ / "letter.txt", "of no concern");
    std::this_thread::sleep_for(2s);
    EXPECT_LT(cpu_seconds() - cpu, 0.2);
    EXPECT_EQ(out(), before);
    EXPECT_THAT(err(), IsEmpty());
    EXPECT_EQ(end_by(SIGTERM), 128 + SIGTERM);
}

TEST_F(Watch, SeveralSavesWithinAMomentAreOneRun) {
    start();
    until("Ctrl-C ends it.");
    for (int i = 0; i < 5; ++i) {
        save(folder_ / "stops.csv", with_line("N" + std::to_string(i) + ",T9,500100,5600500,8,10YR 4/3,L,heather,"));
        std::this_thread::sleep_for(20ms);
    }
    const std::string more = until("Since ");
    EXPECT_THAT(more, HasSubstr(": 5 stops more"));
    std::this_thread::sleep_for(1s);
    EXPECT_EQ(out().find("Since ", read_), std::string::npos);
}

TEST_F(Watch, AFailedRunSaysSoAndTheNextIsComparedWithTheLastGoodOne) {
    start();
    until("Ctrl-C ends it.");
    const std::string stops = text_of(folder_ / "stops.csv"), json = text_of(survey_);
    save(survey_, json.substr(0, 50));
    EXPECT_THAT(error_until("survey.json"), HasSubstr("subcrop: "));
    save(survey_, json);
    fs::remove(folder_ / "stops.csv");
    EXPECT_THAT(error_until("stops.csv"), HasSubstr("subcrop: "));
    publish::test::write_file(folder_ / "stops.csv", stops + "N1,T9,500100,5600500,8,10YR 4/3,L,heather,\n");
    EXPECT_THAT(until("Stop N1 is new"), HasSubstr(": 1 stop more"));
}

// A source that the survey file names only after the change, in a folder that is made later still.
TEST_F(Watch, FollowsTheSurveyFileToItsNewSources) {
    start();
    until("Ctrl-C ends it.");
    std::string json = text_of(survey_);
    json.replace(json.find("stops.csv"), 9, "day2/stops.csv");
    save(survey_, json);
    EXPECT_THAT(error_until("day2/stops.csv"), HasSubstr("subcrop: "));
    fs::create_directory(folder_ / "day2");
    std::this_thread::sleep_for(1s);
    publish::test::write_file(folder_ / "day2/stops.csv", with_line("N1,T9,500100,5600500,8,10YR 4/3,L,heather,"));
    until("Stop N1 is new");
    // Through a link.
    fs::rename(folder_ / "day2/stops.csv", holder_.path() / "elsewhere.csv");
    fs::create_symlink(holder_.path() / "elsewhere.csv", folder_ / "day2/stops.csv");
    std::this_thread::sleep_for(1s);
    std::ofstream(holder_.path() / "elsewhere.csv", std::ios::app) << "N2,T9,500100,5600500,8,10YR 4/3,L,heather,\n";
    until("Stop N2 is new");
}

TEST_F(Watch, GoesNotTogetherWithJson) {
    start({"--json"});
    EXPECT_EQ(end_by(0), 2);
    EXPECT_THAT(err(), HasSubstr("--watch"));
}

}  // namespace
}  // namespace subcrop::cli
