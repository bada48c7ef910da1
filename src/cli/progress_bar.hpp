// Progress for a person at a terminal; silence anywhere else.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>

#include "subcrop/core/progress.hpp"

namespace subcrop::cli {

/// Draws one line on standard error and wipes it when done. Twice a second a thread of its own draws the seconds that
/// the stage has taken, so that a long stage is seen to go on.
class ProgressBar : public Progress {
public:
    ProgressBar();
    ~ProgressBar() override;
    void stage(std::string_view name, std::size_t total) override;
    void advance(std::size_t done) override;

private:
    void draw();  ///< the lock is held
    void keep_drawing(const std::stop_token& stop);
    std::mutex lock_;
    std::condition_variable_any woken_;
    std::string name_;
    std::size_t total_ = 0;
    std::size_t done_ = 0;
    bool drawn_ = false;
    std::chrono::steady_clock::time_point last_{}, began_{};
    std::jthread clock_;
};

/// A bar where standard error is a terminal and `quiet` is not set, else silence.
std::unique_ptr<Progress> make_progress(bool quiet);

}  // namespace subcrop::cli
