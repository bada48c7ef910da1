#include "cli/stopping.hpp"

#include <pthread.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <string_view>
#include <thread>

#include "io/pending_file.hpp"

namespace subcrop::cli {

namespace {

std::atomic<bool> only_waits = false;

}  // namespace

void nothing_is_written(bool waiting) { only_waits = waiting; }

void stop_cleanly() {
    std::signal(SIGXFSZ, SIG_IGN);
    sigset_t awaited;
    sigemptyset(&awaited);
    for (const int number : {SIGINT, SIGHUP, SIGTERM}) {
        struct sigaction before {};
        sigaction(number, nullptr, &before);
        if (before.sa_handler != SIG_IGN) sigaddset(&awaited, number);  // as under nohup
    }
    // A thread that waits for them may take locks and remove files, which a signal handler must not.
    pthread_sigmask(SIG_BLOCK, &awaited, nullptr);
    std::thread([awaited] {
        int number = 0;
        if (sigwait(&awaited, &number) != 0) return;
        const bool some_in_place = io::remove_pending_files();
        const std::string_view message = only_waits ? "\nsubcrop: ended. All results are whole.\n"
                                         : some_in_place
                                             ? "\nsubcrop: stopped when new files had been put in place. Those are "
                                               "whole, and nothing half written is left. The other files are "
                                               "missing.\n"
                                             : "\nsubcrop: stopped before it was done. Nothing half written is left, "
                                               "and older files are unchanged.\n";
        // Straight to the system: the thread that was stopped may hold the stream's lock.
        [[maybe_unused]] const auto written = ::write(STDERR_FILENO, message.data(), message.size());
        _exit(128 + number);
    }).detach();
}

}  // namespace subcrop::cli
