#include <algorithm>
#include <array>
#include <cstdio>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/publish/next_draft.hpp"

namespace subcrop::cli {

namespace {

constexpr std::array<const char*, 4> decisions{"accepted", "rejected", "later", "open"};

struct DecideCommandOptions {
    std::string survey;
    std::vector<std::string> words;
    std::string why;
    std::optional<std::string> from, results;
    bool json = false, quiet = false;
};

std::string in_a_sentence(const publish::DecidedProposal& p) {
    std::string text = p.decision + (p.why.empty() ? "" : " (" + p.why + ")") + ". " + p.what;
    if (p.probability) {
        char probability[32];
        std::snprintf(probability, sizeof probability, " Probability %.2f.", *p.probability);
        text += probability;
    }
    if (!p.note.empty()) text += " " + p.note;
    return text;
}

int decide(const DecideCommandOptions& options) {
    publish::DecideOptions wanted;
    if (!options.words.empty()) {
        wanted.ids.assign(options.words.begin(), options.words.end() - 1);
        wanted.decision = options.words.back();
        const bool known = std::find(decisions.begin(), decisions.end(), wanted.decision) != decisions.end();
        if (!known || wanted.ids.empty()) {
            std::cerr
                << "subcrop: "
                << (known ? "no proposal is named"
                          : "the last word is the decision, and '" + visible(wanted.decision) + "' is none")
                << ". Write its id and then accepted, rejected, later or open: subcrop decide SURVEY A1 accepted\n";
            return wrong_usage;
        }
    }
    wanted.why = options.why;
    if (options.from) wanted.table = *options.from;
    if (options.results) wanted.results = *options.results;
    const publish::DecideSummary s = publish::decide(options.survey, wanted);
    if (options.json) {
        nlohmann::ordered_json json{
            {"file", s.file.string()}, {"taken", s.taken}, {"proposals", nlohmann::ordered_json::array()}};
        for (const publish::DecidedProposal& p : s.proposals)
            json["proposals"].push_back(
                {{"id", p.id},
                 {"decision", p.decision},
                 {"why", p.why},
                 {"decided_on", p.decided_on},
                 {"what", p.what},
                 {"probability", p.probability ? nlohmann::ordered_json(*p.probability) : nullptr},
                 {"hectares", p.hectares ? nlohmann::ordered_json(*p.hectares) : nullptr},
                 {"stops", p.stops},
                 {"note", p.note}});
        std::cout << visible_in_json(json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace))
                  << '\n';
        return done;
    }
    if (options.quiet) return done;
    const std::size_t width = screen_width();
    if (options.from)
        std::cout << counted(s.taken, "decision", "decisions") << " taken from " << visible(*options.from) << '\n';
    std::vector<std::pair<std::string, std::string>> rows;
    for (const publish::DecidedProposal& p : s.proposals) rows.emplace_back(p.id, in_a_sentence(p));
    print_pairs(std::cout, rows, width);
    print_problems(std::cout, s.problems, 10, s.problems.size(), "", width);
    if (s.taken > 0)
        std::cout << "\nKept in " << visible(s.file.string())
                  << ". 'subcrop adopt' writes the next draft from what is accepted.\n";
    return done;
}

}  // namespace

Command add_decide(CLI::App& parent) {
    auto options = std::make_shared<DecideCommandOptions>();
    CLI::App* app = parent.add_subcommand("decide", "Accept or reject what the last run proposes, or list it");
    app->add_option("SURVEY", options->survey, "The survey file (JSON)")->type_name("FILE")->required();
    app->add_option("WORDS", options->words,
                    "Ids of proposals, then accepted, rejected, later or open; none lists them")
        ->type_name("ID... DECISION");
    app->add_option("--why", options->why, "Your reason, kept with the decision")->type_name("TEXT");
    app->add_option("--from", options->from, "Take decisions from a table, such as decisions.csv saved by the page")
        ->type_name("FILE")
        ->check(named);
    app->add_option("--results", options->results, "Folder of the run, instead of the one the survey file names")
        ->type_name("FOLDER")
        ->check(named);
    app->add_flag("--json", options->json, "Print the result as JSON; its keys are listed below");
    app->add_flag("--quiet", options->quiet, "Print nothing; JSON, where asked for, is still printed");
    app->footer(
        "Example: subcrop decide sampledata/survey.json A1 accepted --why 'slate chips in the ditch'\n\n"
        "Decisions are kept in decisions.gpkg beside the survey file, which no run replaces, each with the evidence "
        "it\n"
        "was made on. A decisions.csv beside the survey file (columns id, decision, why, decided_on) is read by every "
        "run.\n"
        "A rejected proposal is not shown again until stops bear on it that did not then.\n"
        "Exit codes: 0 done, 1 it failed, 2 wrong usage.\n\n"
        "Keys of --json: file, taken (decisions that were new), proposals (id, decision, why, decided_on, what, "
        "probability,\nhectares, stops: how many bear on it, note).");
    return {app, [options] { return decide(*options); }};
}

}  // namespace subcrop::cli
