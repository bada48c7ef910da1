// Progress for a person at a terminal; silence anywhere else.
#pragma once

#include <chrono>
#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

#include "subcrop/core/progress.hpp"

namespace subcrop::cli {

/// Draws one line on standard error and wipes it when done.
class ProgressBar : public Progress {
public:
    ~ProgressBar() override;
    void stage(std::string_view name, std::size_t total) override;
    void advance(std::size_t done) override;

private:
    void draw();
    std::string name_;
    std::size_t total_ = 0;
    std::size_t done_ = 0;
    bool drawn_ = false;
    std::chrono::steady_clock::time_point last_{};
};

/// A bar where standard error is a terminal and `quiet` is not set, else silence.
std::unique_ptr<Progress> make_progress(bool quiet);

}  // namespace subcrop::cli
