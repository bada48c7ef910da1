#include "publish/chapter/pandoc.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string_view>
#include <vector>

#include "subcrop/core/error.hpp"

namespace subcrop::publish::chapter {

namespace fs = std::filesystem;

bool is_installed(const std::string& program) {
    const char* path = std::getenv("PATH");
    std::stringstream folders(path == nullptr ? "" : path);
    for (std::string folder; std::getline(folders, folder, ':');)
        if (!folder.empty() && access((fs::path(folder) / program).c_str(), X_OK) == 0) return true;
    return false;
}

void write_by_pandoc(const fs::path& markdown, const fs::path& folder, const fs::path& target) {
    std::vector<std::string> words{"pandoc",
                                   "--from=markdown",
                                   "--standalone",
                                   "--metadata=lang:en-GB",
                                   "--resource-path=" + folder.string(),
                                   "--output=" + target.string(),
                                   markdown.string()};
    // Otherwise the date of the run would be in the file.
    std::vector<std::string> environment{"SOURCE_DATE_EPOCH=0", "LC_ALL=C.UTF-8"};
    for (char** one = environ; *one != nullptr; ++one) {
        const std::string_view word = *one;
        if (!word.starts_with("SOURCE_DATE_EPOCH=") && !word.starts_with("LC_ALL=")) environment.emplace_back(word);
    }
    const auto pointers = [](std::vector<std::string>& list) {
        std::vector<char*> result;
        for (std::string& word : list) result.push_back(word.data());
        result.push_back(nullptr);
        return result;
    };
    const std::vector<char*> arguments = pointers(words), variables = pointers(environment);
    const fs::path said = target.string() + ".said";
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, said.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    pid_t child = 0;
    const int refused = posix_spawnp(&child, "pandoc", &actions, nullptr, arguments.data(), variables.data());
    posix_spawn_file_actions_destroy(&actions);
    if (refused != 0)
        throw Error({}, "pandoc could not be started",
                    "Install it (on Debian: apt install pandoc librsvg2-bin), or do without --docx and --odt.");
    int status = 0;
    while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    std::ifstream in(said, std::ios::binary);
    const std::string words_of_pandoc{std::istreambuf_iterator<char>(in), {}};
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
        throw Error({}, "pandoc could not write " + target.filename().string() + ": " + words_of_pandoc);
}

}  // namespace subcrop::publish::chapter
