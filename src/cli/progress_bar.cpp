#include "cli/progress_bar.hpp"

#include <unistd.h>

#include <algorithm>
#include <cstdio>

namespace subcrop::cli {

namespace {

constexpr std::size_t bar_width = 30;
constexpr std::chrono::milliseconds redraw_after{100};
constexpr std::chrono::milliseconds redraw_each{500};
constexpr long tell_seconds_from = 1;  ///< of a stage that takes as long

}  // namespace

ProgressBar::ProgressBar() : clock_([this](const std::stop_token& stop) { keep_drawing(stop); }) {}

ProgressBar::~ProgressBar() {
    clock_ = {};  // asks it to stop, and waits
    if (drawn_) std::fputs("\r\033[K", stderr);
}

void ProgressBar::keep_drawing(const std::stop_token& stop) {
    std::unique_lock held(lock_);
    while (!woken_.wait_for(held, stop, redraw_each, [] { return false; })) {
        if (stop.stop_requested()) return;
        if (drawn_) draw();
    }
}

void ProgressBar::stage(std::string_view name, std::size_t total) {
    const std::scoped_lock held(lock_);
    name_ = name;
    total_ = total;
    done_ = 0;
    began_ = std::chrono::steady_clock::now();
    draw();
}

void ProgressBar::advance(std::size_t done) {
    const std::scoped_lock held(lock_);
    done_ = done;
    if (std::chrono::steady_clock::now() - last_ >= redraw_after) draw();
}

void ProgressBar::draw() {
    std::string line = "\r\033[K" + name_;
    if (total_ > 0) {
        const std::size_t percent = std::min<std::size_t>(100, done_ * 100 / total_);
        const std::size_t filled = percent * bar_width / 100;
        line += "  [" + std::string(filled, '=') + std::string(bar_width - filled, ' ') + "] " +
                std::to_string(percent) + " %";
    } else {
        line += " ...";
    }
    const auto taken = std::chrono::duration_cast<std::chrono::seconds>(std::chrono::steady_clock::now() - began_);
    if (taken.count() >= tell_seconds_from) line += "  " + std::to_string(taken.count()) + " s";
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
