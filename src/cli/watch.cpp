#include "cli/watch.hpp"

#include <iostream>
#include <memory>
#include <new>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/file_watch.hpp"
#include "cli/progress_bar.hpp"
#include "cli/run_report.hpp"
#include "cli/screen.hpp"
#include "cli/stopping.hpp"
#include "cli/visible.hpp"
#include "io/input_digest.hpp"
#include "io/own_sources.hpp"

namespace subcrop::cli {

namespace {

namespace fs = std::filesystem;

/// Nothing where it cannot be read; the run tells why.
std::optional<io::SurveyFile> read_survey(const fs::path& survey) {
    try {
        return io::read_survey_file(survey);
    } catch (const Error&) {
        return std::nullopt;
    }
}

std::vector<fs::path> watched_files(const io::SurveyFile& file) {
    std::vector<fs::path> files;
    for (const io::OwnSource& source : io::sources_of(file)) {
        // It holds locks, and changes whenever a database is read.
        if (!source.path.string().ends_with("-shm")) files.push_back(source.path);
    }
    return files;
}

class WatchedRun {
public:
    WatchedRun(fs::path survey, publish::RunOptions options, bool quiet)
        : survey_(std::move(survey)), options_(std::move(options)), quiet_(quiet) {
        options_.keep_problems = true;
    }

    void run() {
        try {
            std::unique_ptr<Progress> progress = make_progress(quiet_);
            publish::RunSummary summary = publish::run_survey(survey_, options_, *progress);
            progress.reset();  // wipes the bar
            if (!quiet_) print(summary);
            // The records of all these runs would soon push out those of other days.
            options_.superseded_record = summary.record_file;
            last_ = std::move(summary);
        } catch (const std::bad_alloc&) {
            throw;
        } catch (const std::exception& error) {
            std::cerr << "subcrop: " << visible(error.what()) << std::endl;
        }
    }

private:
    void print(const publish::RunSummary& summary) const {
        if (last_)
            print_difference(std::cout, *last_, summary, screen_width());
        else
            print_summary(std::cout, summary, screen_width());
        std::cout.flush();
    }

    fs::path survey_;
    publish::RunOptions options_;
    bool quiet_;
    std::optional<publish::RunSummary> last_;
};

}  // namespace

void run_and_watch(const fs::path& survey, publish::RunOptions options, bool quiet) {
    WatchedRun watched(survey, std::move(options), quiet);
    std::vector<fs::path> files{survey};
    std::string digest;  // of the last run; empty where the survey file could not be read
    for (bool first = true;; first = false) {
        const std::optional<io::SurveyFile> file = read_survey(survey);
        if (file) files = watched_files(*file);
        FileWatch watch(files);  // before the run reads them, so that no change is missed
        const std::string now = file ? io::digest_of_inputs(*file) : std::string();
        if (first || now.empty() || now != digest) watched.run();
        digest = now;
        if (first && !quiet)
            std::cout << "\nWatching the survey file and the files it names. Ctrl-C ends it." << std::endl;
        nothing_is_written(true);
        watch.wait();
        nothing_is_written(false);
    }
}

}  // namespace subcrop::cli
