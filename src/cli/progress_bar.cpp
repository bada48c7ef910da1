#include "cli/progress_bar.hpp"

#include <unistd.h>

#include <algorithm>
#include <cstdio>

namespace subcrop::cli {

namespace {

constexpr std::size_t bar_width = 30;
constexpr std::chrono::milliseconds redraw_after{100};

}  // namespace

ProgressBar::~ProgressBar() {
    if (drawn_) std::fputs("\r\033[K", stderr);
}

void ProgressBar::stage(std::string_view name, std::size_t total) {
    name_ = name;
    total_ = total;
    done_ = 0;
    draw();
}

void ProgressBar::advance(std::size_t done) {
    done_ = done;
    if (std::chrono::steady_clock::now() - last_ >= redraw_after) draw();
}

void ProgressBar::draw() {
    std::string line = "\r\033[K" + name_;
    if (total_ > 0) {
        const std::size_t percent = std::min<std::size_t>(100, done_ * 100 / total_);
        const std::size_t filled = percent * bar_width / 100;
        line += "  [" + std::string(filled, '=') + std::string(bar_width - filled, ' ') + "] " + std::to_string(percent) + " %";
    } else {
        line += " ...";
    }
    std::fputs(line.c_str(), stderr);
    std::fflush(stderr);
    drawn_ = true;
    last_ = std::chrono::steady_clock::now();
}

std::unique_ptr<Progress> make_progress(bool quiet) {
    if (quiet || isatty(STDERR_FILENO) == 0) return std::make_unique<Progress>();
    return std::make_unique<ProgressBar>();
}

}  // namespace subcrop::cli
