// Where the time of one run goes: wall time, CPU and greatest memory of each stage, and how long progress stood still
// in it.
//
//     stages SURVEY.json [--results FOLDER] [--threads N] [--no-report]
//
// Memory is the greatest resident set up to the stage's end. `still` is the longest time between two words of progress.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <exception>
#include <string>
#include <vector>

#include "subcrop/core/progress.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace {

struct Clock {
    double wall_s = 0, cpu_s = 0, memory_gb = 0;
};

Clock now() {
    rusage use{};
    getrusage(RUSAGE_SELF, &use);
    const auto seconds = [](const timeval& t) {
        return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
    };
    const std::chrono::duration<double> wall = std::chrono::steady_clock::now().time_since_epoch();
    return {wall.count(), seconds(use.ru_utime) + seconds(use.ru_stime), static_cast<double>(use.ru_maxrss) * 1024e-9};
}

class StageTimes : public subcrop::Progress {
public:
    void stage(std::string_view name, std::size_t /*total*/) override {
        heard();
        stages_.push_back({std::string(name), last_, {}, 0});
    }
    void advance(std::size_t /*done*/) override { heard(); }
    void print() {
        heard();
        std::printf("| stage | wall, s | CPU, s | memory, GB | still, s |\n|---|---|---|---|---|\n");
        for (const Stage& stage : stages_) {
            std::printf("| %s | %.2f | %.2f | %.2f | %.2f |\n", stage.name.c_str(),
                        stage.end.wall_s - stage.begin.wall_s, stage.end.cpu_s - stage.begin.cpu_s, stage.end.memory_gb,
                        stage.still_s);
        }
        double still = 0;
        for (const Stage& stage : stages_) still = std::max(still, stage.still_s);
        std::printf("| all | %.2f | %.2f | %.2f | %.2f |\n", last_.wall_s - stages_.front().begin.wall_s,
                    last_.cpu_s - stages_.front().begin.cpu_s, last_.memory_gb, still);
    }

private:
    struct Stage {
        std::string name;
        Clock begin, end;
        double still_s;
    };
    void heard() {
        const Clock at = now();
        if (!stages_.empty()) {
            stages_.back().end = at;
            stages_.back().still_s = std::max(stages_.back().still_s, at.wall_s - last_.wall_s);
        }
        last_ = at;
    }
    std::vector<Stage> stages_;
    Clock last_ = now();
};

}  // namespace

int main(int count, char** words) {
    subcrop::publish::RunOptions options;
    std::string survey;
    for (int i = 1; i < count; ++i) {
        const bool more = i + 1 < count;
        if (std::strcmp(words[i], "--results") == 0 && more)
            options.results = words[++i];
        else if (std::strcmp(words[i], "--threads") == 0 && more)
            options.threads = static_cast<unsigned>(std::stoul(words[++i]));
        else if (std::strcmp(words[i], "--no-report") == 0)
            options.report = false;
        else
            survey = words[i];
    }
    if (survey.empty()) {
        std::fprintf(stderr, "usage: stages SURVEY.json [--results FOLDER] [--threads N] [--no-report]\n");
        return 2;
    }
    try {
        StageTimes progress;
        subcrop::publish::run_survey(survey, options, progress);
        progress.print();
        return 0;
    } catch (const std::exception& error) {
        std::fprintf(stderr, "stages: %s\n", error.what());
        return 1;
    }
}
