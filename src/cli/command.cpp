#include "cli/command.hpp"

namespace subcrop::cli {

const CLI::Validator named(
    [](const std::string& word) {
        return word.find_first_not_of(" \t\r\n") == word.npos ? std::string("Give a name; '.' is the current folder.")
                                                              : std::string();
    },
    "");

namespace {
// The name of a check is nowhere printed.
constexpr std::string_view offer_mark = "offers ";
}  // namespace

CLI::Validator offers(std::string_view words) {
    return {[](const std::string&) { return std::string(); }, "", std::string(offer_mark) + std::string(words)};
}

CLI::Validator one_of(const std::string& words, bool any_case) {
    const std::vector<std::string> list = CLI::detail::split(words, ' ');
    CLI::Validator check = any_case ? CLI::IsMember(list, CLI::ignore_case) : CLI::IsMember(list);
    check.description("").name(std::string(offer_mark) + words);
    return check;
}

std::string offered_words(const CLI::Option& option) {
    for (int i = 0;; ++i) {
        const CLI::Validator* check = nullptr;
        try {
            // CLI11 has no other way to look at the checks of an option, and no count of them.
            check = const_cast<CLI::Option&>(option).get_validator(i);
        } catch (const CLI::OptionNotFound&) {
            return {};
        }
        if (check->get_name().starts_with(offer_mark)) return check->get_name().substr(offer_mark.size());
    }
}

void add_common_options(CLI::App& app, CommonOptions& options) {
    app.add_option("SURVEY", options.survey, "The survey file (JSON)")->type_name("FILE")->required();
    app.add_option("--threads", options.threads, "Threads to use (default 0: all). Changes no result")
        ->type_name("N")
        ->check(CLI::Range(0, 1024).description(""));
    app.add_flag("--json", options.json, "Print the result as JSON; its keys are listed below");
    app.add_flag("--quiet", options.quiet, "No progress and no summary; --json still prints");
}

}  // namespace subcrop::cli
