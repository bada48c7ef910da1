#include <cstdio>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "cli/progress_bar.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/publish/next_draft.hpp"

namespace subcrop::cli {

namespace {

struct AdoptCommandOptions : CommonOptions {
    std::optional<double> at_least;
    std::optional<std::string> results, output;
    bool dry_run = false;
};

std::string tenths(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
}

std::string faults_in_words(const publish::AdoptSummary& s) {
    if (s.faults == 0) return "It has no gap and no overlap.";
    const std::string count = counted(s.faults, "gap or overlap", "gaps and overlaps");
    if (s.faults <= s.faults_of_draft) return "It has " + count + ", which the draft has too.";
    return "It has " + count + "; the draft has " + std::to_string(s.faults_of_draft) + ".";
}

void print_adopted(std::ostream& out, const publish::AdoptSummary& s, bool dry_run, std::size_t width) {
    const std::string title = s.title.empty() ? "" : visible(s.title) + ": ";
    if (s.first_map) {
        out << title << "the first map " << (dry_run ? "would be" : "is") << " the next draft\n";
    } else {
        out << title << counted(s.carried_out.size(), "proposal", "proposals") << (dry_run ? " would be" : "")
            << " carried out\n";
        std::vector<std::pair<std::string, std::string>> rows;
        for (const publish::DecidedProposal& p : s.carried_out)
            rows.emplace_back(p.id, p.note.empty() ? p.what : p.what + ' ' + p.note);
        if (!rows.empty()) out << '\n';
        print_pairs(out, rows, width);
        out << "\n  " << std::to_string(s.left_open) << " left open, " << s.later << " left for later, " << s.rejected
            << " rejected\n";
    }
    if (s.carried_out.empty() && !s.first_map) {
        out << "\n"
            << wrapped(
                   "Nothing is accepted, so no map was written. Decide with 'subcrop decide', or adopt with --at-least "
                   "0.9.",
                   0, width)
            << '\n';
        return;
    }
    if (s.file.empty()) return;
    out << "\n  "
        << wrapped(tenths(s.changed_hectares) + " of " + tenths(s.hectares) + " ha change. " +
                       (s.first_map ? "" : std::to_string(s.polygons_as_drawn) + " of ") +
                       counted(s.polygons, "polygon", "polygons") + (s.first_map ? ". " : " keep their area. ") +
                       faults_in_words(s),
                   2, width)
        << "\n\nAdopted map: " << visible(s.file.string()) << "  (layers units and contacts)\n"
        << wrapped("The draft and the survey file are as they were. To go on from this map write in the survey file:",
                   0, width)
        << "\n  " << visible(s.map_entry) << '\n';
    if (!s.first_map)
        out << wrapped(
                   "This map was drawn from the same stops, so they seem to confirm it. Until you add stops, its 90 % "
                   "zones are a little too narrow.",
                   0, width)
            << '\n';
}

int adopt(const AdoptCommandOptions& options) {
    publish::AdoptOptions wanted;
    wanted.threads = options.threads;
    wanted.at_least = options.at_least;
    wanted.dry_run = options.dry_run;
    if (options.results) wanted.results = *options.results;
    if (options.output) wanted.output = *options.output;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::AdoptSummary s = publish::adopt_survey(options.survey, wanted, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json) {
        nlohmann::ordered_json json{
            {"title", s.title},
            {"file", s.file.empty() ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(s.file.string())},
            {"carried_out", nlohmann::ordered_json::array()},
            {"left_open", s.left_open},
            {"later", s.later},
            {"rejected", s.rejected},
            {"polygons", s.polygons},
            {"polygons_as_drawn", s.polygons_as_drawn},
            {"contacts", s.contacts},
            {"changed_hectares", s.changed_hectares},
            {"hectares", s.hectares},
            {"faults", s.faults},
            {"faults_of_draft", s.faults_of_draft},
            {"map_entry", s.map_entry}};
        for (const publish::DecidedProposal& p : s.carried_out)
            json["carried_out"].push_back({{"id", p.id}, {"what", p.what}});
        std::cout << visible_in_json(json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace))
                  << '\n';
    } else if (!options.quiet) {
        print_adopted(std::cout, s, options.dry_run, screen_width());
    }
    return done;
}

}  // namespace

Command add_adopt(CLI::App& parent) {
    auto options = std::make_shared<AdoptCommandOptions>();
    CLI::App* app =
        parent.add_subcommand("adopt", "Write the next draft: the map with the accepted proposals carried out");
    add_common_options(*app, *options);
    app->add_option("--at-least", options->at_least,
                    "Carry out also every open proposal that is as probable, such as 0.9")
        ->type_name("P")
        ->check(CLI::Range(0.0, 1.0).description(""));
    app->add_flag("--dry-run", options->dry_run, "Tell what would be carried out, and write nothing");
    app->add_option("--output", options->output,
                    "File to write, instead of adopted_map.gpkg (or _2, _3 ...) beside the survey file")
        ->type_name("FILE")
        ->check(named);
    app->add_option("--results", options->results, "Folder of the run, instead of the one the survey file names")
        ->type_name("FOLDER")
        ->check(named);
    app->footer(
        "Example: subcrop adopt sampledata/survey.json --at-least 0.9\n\n"
        "Nothing else changes: polygons that no accepted proposal touches keep every vertex, columns of the draft are\n"
        "kept, and edges stay shared to the last bit. No file is ever replaced. Without a draft the first map is\n"
        "written whole.\n"
        "Exit codes: 0 done, 1 it failed, 2 wrong usage.\n\n"
        "Keys of --json: title, file (null: none written), carried_out (id, what), left_open, later, rejected, "
        "polygons,\n"
        "polygons_as_drawn, contacts, changed_hectares, hectares, faults and faults_of_draft (gaps and overlaps), "
        "map_entry.");
    return {app, [options] { return adopt(*options); }};
}

}  // namespace subcrop::cli
