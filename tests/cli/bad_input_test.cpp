// Field books, maps and survey files as they come, mistakes and all: what the program says of each, word for word.
//
// A case is a folder of bad_input/ with a survey and expected.txt. Line 1 of that is the verb and the exit code: `check
// 3`, `run 0` (results go to a scratch folder) or `run-here 1` (results go where the survey file says). The other lines
// are all that must be said, in order: what was read and must not be lost (`12 stops, 14 horizons, 3 map polygons`),
// then each problem as "severity place: message. Remedy.", or what is still to be filled in, or the one line of a
// failure. {folder} stands for the case's own folder. With SUBCROP_SHOW_OUTPUT set the actual text of each case is
// printed, to be judged and copied to expected.txt.
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using test::Outcome;
using test::subcrop;
using test::text_of;

const fs::path cases_folder = fs::path(SUBCROP_SOURCE_DIR) / "tests/cli/bad_input";

/// Ends an expected line of which only the beginning is settled: a list of all keys grows with the program.
const std::string rest_open = "[...]";

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) lines.push_back(line);
    return lines;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) {
        text.replace(at, from.size(), to);
    }
    return text;
}

/// The words of a text with one space between them: line breaks are the screen's, not the message's.
std::string words_of(const std::string& text) {
    std::istringstream in(text);
    std::string result;
    for (std::string word; in >> word;) result += (result.empty() ? "" : " ") + word;
    return result;
}

/// What expected.txt lists: what was read, then the problems, one a line.
std::vector<std::string> said(const Outcome& screen, const fs::path& folder) {
    std::vector<std::string> lines;
    const std::string first = screen.out.substr(0, screen.out.find('\n'));
    if (const auto title = first.find(": "); title != std::string::npos) lines.push_back(first.substr(title + 2));
    // A problem begins two spaces in, with its severity; the lines after it are further in.
    bool in_problems = false;
    for (const std::string& line : lines_of(screen.out)) {
        if (line.starts_with("Problems in the data:") || line == "Still to be filled in") {
            in_problems = true;
        } else if (line.empty()) {
            in_problems = false;
        } else if (in_problems && line.starts_with("  ") && !line.starts_with("   ")) {
            lines.push_back(line);
        } else if (in_problems) {
            lines.back() += ' ' + line;
        }
    }
    for (const std::string& line : lines_of(screen.err)) lines.push_back(line);
    for (std::string& line : lines) line = replaced(words_of(line), folder.string() + '/', "{folder}/");
    return lines;
}

class BadInputTest : public testing::TestWithParam<std::string> {};

TEST_P(BadInputTest, IsToldInPlainWordsAndCostsNoGoodRow) {
    const fs::path folder = cases_folder / GetParam();
    const std::vector<std::string> expected = lines_of(text_of(folder / "expected.txt"));
    ASSERT_FALSE(expected.empty()) << "expected.txt is missing or empty";
    const publish::test::TemporaryFolder scratch(testing::TempDir());

    std::istringstream first(expected.front());
    std::string verb;
    int code = -1;
    first >> verb >> code;
    ASSERT_TRUE(verb == "check" || verb == "run" || verb == "run-here") << verb;
    const std::string survey = (folder / "survey.json").string();
    std::vector<std::string> words = {verb == "check" ? "check" : "run", survey, "--threads", "1"};
    if (verb == "run") words.insert(words.end(), {"--results", (scratch.path() / "results").string()});

    const Outcome screen = subcrop(scratch.path(), words);
    if (code != 1) {
        EXPECT_EQ(screen.err, "");
    }
    std::vector<std::string> actual = said(screen, folder);
    actual.insert(actual.begin(), verb + ' ' + std::to_string(screen.code));
    if (std::getenv("SUBCROP_SHOW_OUTPUT") != nullptr) {
        std::cout << "=== " << GetParam() << '\n';
        for (const std::string& line : actual) std::cout << line << '\n';
    }
    for (std::size_t i = 0; i < std::min(actual.size(), expected.size()); ++i) {
        const std::string& line = expected[i];
        if (line.ends_with(rest_open) && actual[i].starts_with(line.substr(0, line.size() - rest_open.size())))
            actual[i] = line;
    }
    ASSERT_EQ(actual, expected);

    // What can be read can be judged: the run keeps every stop and crashes on none.
    const bool nothing_to_judge = actual[1] == "nothing to judge yet";
    if (verb == "check" && code != 1 && !nothing_to_judge) {
        const Outcome run = subcrop(scratch.path(), {"run", survey, "--threads", "1", "--json", "--results",
                                                     (scratch.path() / "results").string()});
        EXPECT_EQ(run.code, 0) << run.err;
        const auto judged = nlohmann::json::parse(run.out, nullptr, false);
        ASSERT_FALSE(judged.is_discarded()) << run.out;
        EXPECT_EQ(judged["stops"].dump(), actual[1].substr(0, actual[1].find(' ')));
        EXPECT_TRUE(fs::exists(scratch.path() / "results" / "results.gpkg"));
    }
}

std::vector<std::string> case_names() {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(cases_folder)) {
        if (entry.is_directory() && entry.path().filename() != "base")
            names.push_back(entry.path().filename().string());
    }
    std::sort(names.begin(), names.end());
    return names;
}

/// "MapBowTie": test names take letters and digits only.
std::string test_name(const testing::TestParamInfo<std::string>& parameter) {
    std::string name;
    bool upper = true;
    for (const char c : parameter.param) {
        if (c != '-') name += upper ? static_cast<char>(std::toupper(static_cast<unsigned char>(c))) : c;
        upper = c == '-';
    }
    return name;
}

INSTANTIATE_TEST_SUITE_P(Cases, BadInputTest, testing::ValuesIn(case_names()), test_name);

}  // namespace
}  // namespace subcrop::cli
