#include "publish/print_pdf.hpp"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <string_view>
#include <system_error>
#include <thread>
#include <vector>

extern char** environ;  // NOLINT: POSIX names it so

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;

/// A folder that goes with the object; its path is empty if it could not be made.
class ScratchFolder {
public:
    ScratchFolder() {
        std::error_code none;
        std::string pattern = (fs::temp_directory_path(none) / "subcrop-print-XXXXXX").string();
        if (!none && mkdtemp(pattern.data()) != nullptr) path_ = pattern;
    }
    ~ScratchFolder() {
        std::error_code ignored;
        if (!path_.empty()) fs::remove_all(path_, ignored);
    }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

fs::path found_browser() {
    const char* folders = std::getenv("PATH");
    std::string rest = folders != nullptr ? folders : "";
    for (std::size_t at = 0; at <= rest.size();) {
        const std::size_t end = std::min(rest.find(':', at), rest.size());
        const fs::path folder = rest.substr(at, end - at);
        at = end + 1;
        if (!folder.is_absolute()) continue;  // never run a program from the current folder
        for (const char* name : {"chromium", "chromium-browser"})
            if (access((folder / name).c_str(), X_OK) == 0) return folder / name;
    }
    return {};
}

/// Runs it without output. False: it did not start, failed, or took too long.
bool run(const fs::path& program, std::vector<std::string> words, std::chrono::seconds patience) {
    words.insert(words.begin(), program.string());
    std::vector<char*> argv;
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&files, 2, "/dev/null", O_WRONLY, 0);
    pid_t child = 0;
    const int failure = posix_spawn(&child, program.c_str(), &files, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&files);
    if (failure != 0) return false;
    const auto end = std::chrono::steady_clock::now() + patience;
    int status = 0;
    while (waitpid(child, &status, WNOHANG) == 0) {
        if (std::chrono::steady_clock::now() > end) {
            kill(child, SIGKILL);
            waitpid(child, &status, 0);
            return false;
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

/// Sets the times in it to the first second of 1970, so that the same page gives the same bytes.
void without_time(std::string& pdf) {
    for (const std::string_view key : {"/CreationDate (D:", "/ModDate (D:"}) {
        for (auto at = pdf.find(key); at != std::string::npos; at = pdf.find(key, at + 1)) {
            static constexpr std::string_view instead = "19700101000000";
            for (std::size_t i = 0; i < instead.size() && at + key.size() + i < pdf.size(); ++i)
                pdf[at + key.size() + i] = instead[i];
        }
    }
}

/// Renumbers the ids of table heads, which depend on earlier work of the browser, with eight digits as it writes them.
void with_own_numbers(std::string& pdf) {
    constexpr std::string_view mark = "(node";
    constexpr std::size_t digits = 8;
    std::map<std::string, std::string> known;
    for (auto at = pdf.find(mark); at != std::string::npos; at = pdf.find(mark, at + 1)) {
        const std::string number = pdf.substr(at + mark.size(), digits);
        if (number.size() < digits || number.find_first_not_of("0123456789") != std::string::npos) continue;
        const std::string next = std::to_string(known.size() + 1);
        const std::string& own = known.try_emplace(number, std::string(digits - next.size(), '0') + next).first->second;
        pdf.replace(at + mark.size(), digits, own);
    }
}

}  // namespace

PrintedPage print_to_pdf(const std::string& html, const std::string& what, std::chrono::seconds patience) {
    const std::string instead = "; print " + what + " from any browser, at 100 %.";
    const fs::path browser = found_browser();
    if (browser.empty()) return {std::nullopt, "Chromium is not installed" + instead};
    const ScratchFolder scratch;
    if (scratch.path().empty()) return {std::nullopt, "no temporary folder could be made for Chromium" + instead};
    const fs::path page = scratch.path() / "sheet.html", pdf = scratch.path() / "sheet.pdf";
    std::ofstream(page, std::ios::binary) << html;
    std::vector<std::string> words = {"--headless",
                                      "--disable-gpu",
                                      "--no-first-run",
                                      "--disable-background-networking",
                                      "--disable-component-update",
                                      "--disable-sync",
                                      "--disable-extensions",
                                      "--disable-dev-shm-usage",
                                      "--user-data-dir=" + (scratch.path() / "profile").string(),
                                      "--no-pdf-header-footer",
                                      "--print-to-pdf=" + pdf.string(),
                                      "file://" + page.string()};
    if (geteuid() == 0)
        words.insert(words.begin(),
                     "--no-sandbox");  // needed for root; the page has no script and loads nothing
    const bool ran = run(browser, std::move(words), patience);
    std::ifstream in(pdf, std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(in), {}};
    if (!ran || !bytes.starts_with("%PDF-"))
        return {std::nullopt, "Chromium (" + browser.string() + ") did not print it" + instead};
    without_time(bytes);
    with_own_numbers(bytes);
    return {std::move(bytes), {}};
}

}  // namespace subcrop::publish
