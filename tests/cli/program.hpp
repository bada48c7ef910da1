// The built program, run as a person runs it.
#pragma once

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "support/bytes_of.hpp"
#include "under_sanitizer.hpp"

namespace subcrop::cli::test {

inline std::string text_of(const std::filesystem::path& file) { return bytes_of(file); }

struct Outcome {
    int code = -1;  ///< minus the signal where one ended it
    std::string out;
    std::string err;
};

/// Its words are passed on as they are, not through a shell. What it prints passes through files in `scratch`.
inline Outcome subcrop(const std::filesystem::path& scratch, std::vector<std::string> words) {
    constexpr unsigned max_seconds =
        60 * subcrop::test::patience;  // longer than any case takes on a loaded machine; a hang ends here
    const std::filesystem::path out = scratch / "stdout", err = scratch / "stderr";
    words.insert(words.begin(), SUBCROP_EXECUTABLE);
    std::vector<char*> argv;
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    const pid_t child = fork();
    if (child == 0) {
        const int to_out = open(out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
        const int to_err = open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
        dup2(to_out, 1);
        dup2(to_err, 2);
        alarm(max_seconds);
        execv(argv[0], argv.data());
        _exit(127);
    }
    int status = 0;
    waitpid(child, &status, 0);
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status), text_of(out), text_of(err)};
}

}  // namespace subcrop::cli::test
