#include <cmath>
#include <cstdio>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "cli/command.hpp"
#include "cli/progress_bar.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/publish/survey_trial.hpp"

namespace subcrop::cli {

namespace {

struct TrialCommandOptions : CommonOptions {
    unsigned seeds = 3;
    std::optional<std::string> results;
};

std::string percent(double share) { return std::to_string(std::lround(share * 100)) + " %"; }
std::string metres(double value) { return std::to_string(std::lround(value)) + " m"; }

std::string two_digits(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.2f", value);
    return text;
}

void print_row(std::ostream& out, const infer::TrialFigures& f) {
    const std::string cells[] = {metres(f.warp_m),
                                 percent(f.wrong_stops),
                                 two_digits(f.found),
                                 two_digits(f.found_by_distance),
                                 std::to_string(f.conflicts) + " (" + std::to_string(f.false_conflicts) + ")",
                                 percent(f.ground_wrong_before),
                                 percent(f.ground_wrong_after),
                                 percent(f.zones_cover),
                                 metres(f.half_width_m)};
    constexpr std::size_t widths[] = {8, 8, 9, 10, 14, 9, 8, 10, 9};
    out << ' ';
    for (std::size_t i = 0; i < std::size(cells); ++i)
        out << std::string(widths[i] > cells[i].size() ? widths[i] - cells[i].size() : 1, ' ') << cells[i];
    out << '\n';
}

void print_trial(std::ostream& out, const publish::TrialSummary& s, std::size_t width) {
    const infer::Trial& t = s.trial;
    auto say = [&](const std::string& text) { out << "  " << wrapped(text, 2, width) << '\n'; };
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << "what these " << counted(t.stops, "stop", "stops")
        << " can find\n\n";
    say("The draft was made wrong on purpose, " + counted(s.seeds, "time", "times") +
        " for each size of error. It was warped smoothly, and " + counted(s.patches, "disc", "discs") + " of " +
        metres(t.patch_radius_m) + " radius in it got another unit. Each wrong draft was then judged.");
    out << "\n    warped   wrong  wrong stops found by    conflicts      area wrong      90 % zone       its\n"
           "        by   stops  subcrop  distance  (false ones)   before   after  holds them  half-width\n";
    for (const infer::TrialFigures& f : t.warped) print_row(out, f);
    out << '\n';
    say("'Found' says how well wrong stops were ranked before right ones (average precision). 1: every wrong stop "
        "ranks first. "
        "A value equal to the share of wrong stops means no better than chance. 'Distance' ranks by nearness to a "
        "drawn contact and needs "
        "no soil: "
        "results no better than this are no help. The settings accept " +
        percent(s.false_discovery_rate) + " false flags among the conflicts.");
    out << "\nWith the draft as drawn\n";
    say(counted(t.unwarped.conflicts, "stop conflicts", "stops conflict") + " with it, and " +
        (t.unwarped.drafts_moved > 0 ? "contacts moved, which changed " + percent(t.unwarped.spoilt) + " of the area."
                                     : "no contact moved."));
    out << "\nHow to read this\n";
    say("The draft as drawn was taken as the truth, together with the bedrock observed at " +
        counted(t.stops_rock_seen, "stop", "stops") +
        ". The notes were not changed. Where the draft is really wrong the notes already contradict it, so real errors "
        "blur these figures. "
        "The figures tell how large an error must be to be found here. They do not tell whether there is one.");
    out << "\nFigures: " << visible(s.file.string()) << "; the report of the next run quotes them\n";
}

int try_out(const TrialCommandOptions& options) {
    publish::TrialRunOptions trial;
    trial.threads = options.threads;
    trial.seeds = options.seeds;
    if (options.results) trial.results = *options.results;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::TrialSummary summary = publish::try_survey(options.survey, trial, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json)
        std::cout << visible_in_json(publish::trial_json(summary)) << '\n';
    else if (!options.quiet)
        print_trial(std::cout, summary, screen_width());
    return done;
}

const char* const json_keys =
    "Keys of --json: the same as in trial.json: title, stops, stops_rock_seen, seeds, contact_sd_m, "
    "false_discovery_rate, reach_m\n"
    "(correlation length of the warps), patches, patch_radius_m, unwarped and warped (one for each size of warp). Of "
    "each warp:\n"
    "warp_m (root mean square), drafts, wrong_stops (share), found and found_by_distance (average precision).\n"
    "Also: conflicts and false_conflicts (sums), ground_wrong_before, ground_wrong_after, spoilt, zones_cover (shares "
    "of\n"
    "area or length), half_width_m, drafts_moved.";

}  // namespace

Command add_trial(CLI::App& parent) {
    auto options = std::make_shared<TrialCommandOptions>();
    CLI::App* app = parent.add_subcommand(
        "trial", "Make the draft wrong on purpose and measure how well this survey's stops find the errors");
    add_common_options(*app, *options);
    app->add_option("--seeds", options->seeds,
                    "Wrong drafts for each size of error (default 3); each takes as long as a run")
        ->type_name("N")
        ->check(CLI::Range(1, 100).description(""));
    app->add_option("--results", options->results,
                    "Folder to write trial.json to, instead of the one the survey file names")
        ->type_name("FOLDER")
        ->check(named);
    app->footer(std::string("Example: subcrop trial sampledata/survey.json --seeds 5\n\n"
                            "Exit codes: 0 done, 1 the trial failed, 2 wrong usage.\n\n") +
                json_keys);
    return {app, [options] { return try_out(*options); }};
}

}  // namespace subcrop::cli
