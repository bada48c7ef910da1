#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "cli/command.hpp"
#include "cli/progress_bar.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/publish/survey_chapter.hpp"

namespace subcrop::cli {

namespace {

struct ChapterCommandOptions : CommonOptions {
    std::optional<std::string> results;
    bool as_drawn = false, docx = false, odt = false, no_pdf = false;
    double scale = 0;
};

void print_chapter(std::ostream& out, const publish::ChapterSummary& s, std::size_t width) {
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << "chapter of " << counted(s.units, "unit", "units")
        << " from " << counted(s.stops, "stop", "stops") << "\n\n";
    out << "  " << wrapped(visible(s.most_confused), 2, width) << "\n\n";
    for (const auto& file : s.files)
        if (file.parent_path().filename() != "chapter_figures") out << "  " << visible(file.string()) << '\n';
    if (!s.why_no_pdf.empty()) out << "\n  " << wrapped("No map_sheet.pdf: " + s.why_no_pdf, 2, width) << '\n';
    if (s.older_pdf) out << "  The map_sheet.pdf there is of an earlier run.\n";
    if (!s.without_word_processor.empty())
        out << "\n  "
            << wrapped("No file for word processors was written: " + s.without_word_processor +
                           ". Install both (on Debian: apt install pandoc librsvg2-bin) and run this again.",
                       2, width)
            << '\n';
}

std::string json_of(const publish::ChapterSummary& s) {
    nlohmann::ordered_json json{{"title", s.title},
                                {"units", s.units},
                                {"stops", s.stops},
                                {"scale", s.scale},
                                {"most_confused", s.most_confused},
                                {"without_word_processor", s.without_word_processor},
                                {"paper", s.paper},
                                {"why_no_pdf", s.why_no_pdf},
                                {"older_pdf", s.older_pdf}};
    json["files"] = nlohmann::ordered_json::array();
    for (const auto& file : s.files) json["files"].push_back(file.string());
    return json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

int write_chapter(const ChapterCommandOptions& options) {
    publish::ChapterOptions chapter;
    chapter.threads = options.threads;
    if (options.results) chapter.results = *options.results;
    if (options.as_drawn) chapter.described_by = infer::DescribedBy::draft;
    chapter.scale = options.scale;
    chapter.docx = options.docx;
    chapter.odt = options.odt;
    chapter.pdf = !options.no_pdf;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::ChapterSummary summary = publish::write_survey_chapter(options.survey, chapter, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json)
        std::cout << visible_in_json(json_of(summary)) << '\n';
    else if (!options.quiet)
        print_chapter(std::cout, summary, screen_width());
    return summary.without_word_processor.empty() ? done : failed;
}

}  // namespace

Command add_chapter(CLI::App& parent) {
    auto options = std::make_shared<ChapterCommandOptions>();
    CLI::App* app = parent.add_subcommand(
        "chapter", "Write the chapter of the map units for a report, with legend plate and map sheet");
    add_common_options(*app, *options);
    app->add_option("--results", options->results, "Folder to write, instead of the one the survey file names")
        ->type_name("FOLDER")
        ->check(named);
    app->add_flag("--docx", options->docx, "Write also chapter.docx, through pandoc");
    app->add_flag("--odt", options->odt, "Write also chapter.odt, through pandoc");
    app->add_option("--scale", options->scale,
                    "Denominator of the map sheet's scale, such as 25000 (default: the largest that fits A3)")
        ->type_name("N")
        ->check(CLI::Range(100.0, 10000000.0).description(""));
    app->add_flag("--no-pdf", options->no_pdf, "Do not print map_sheet.pdf (printing needs Chromium)");
    app->add_flag("--as-drawn", options->as_drawn,
                  "For comparison: describe each unit by the stops drawn on it, not by probability");
    app->footer(
        "Example: subcrop chapter sampledata/survey.json --docx\n\n"
        "Writes chapter.html, chapter.md, legend.svg, map_sheet.svg and the drawings (chapter_figures). They say the "
        "same as units.csv of a run.\n"
        "map_sheet.pdf is one page at the true scale: print it at 100 %. Photographs of type stops are shown, if the "
        "survey file names\ntheir folder (key photos).\n"
        "Exit codes: 0 done, 1 the chapter failed or lacks a file asked for, 2 wrong usage.\n\n"
        "Keys of --json: title, units, stops, scale (denominator), most_confused (a sentence), without_word_processor "
        "(why no .docx or .odt\n"
        "was written; empty else), paper (of map_sheet.pdf), why_no_pdf, older_pdf, files.");
    return {app, [options] { return write_chapter(*options); }};
}

}  // namespace subcrop::cli
