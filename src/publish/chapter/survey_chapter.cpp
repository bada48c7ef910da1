#include "subcrop/publish/survey_chapter.hpp"

#include <stdlib.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <ostream>
#include <system_error>

#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "publish/chapter/correlation.hpp"
#include "publish/chapter/document.hpp"
#include "publish/chapter/legend_plate.hpp"
#include "publish/chapter/map_sheet.hpp"
#include "publish/chapter/map_symbols.hpp"
#include "publish/chapter/pandoc.hpp"
#include "publish/chapter/unit_section.hpp"
#include "publish/judged_survey.hpp"
#include "publish/print_pdf.hpp"
#include "publish/results_folder.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;
using namespace chapter;

constexpr const char* figure_folder = "chapter_figures";

/// A folder that is removed with the object.
class ScratchFolder {
public:
    ScratchFolder() {
        std::string name = (fs::temp_directory_path() / "subcrop-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr)
            throw Error({.source = name}, "the folder for passing files cannot be made",
                        "See whether its disk is full.");
        path_ = name;
    }
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;
    ~ScratchFolder() {
        std::error_code none;
        fs::remove_all(path_, none);
    }
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

std::string how_it_was_made(const JudgedSurvey& judged) {
    const bool as_drawn = !judged.units.empty() && judged.units.front().described_by == infer::DescribedBy::draft;
    std::string text = "This chapter describes " + counted(judged.units.size(), "map unit", "map units") + " from " +
                       counted(judged.data->survey.stops.size(), "stop", "stops") + ". ";
    text += as_drawn ? "Each stop counts in full for the unit whose bedrock was observed there, else for the one drawn "
                       "under it. This is for comparison: misplaced stops spoil it."
                     : "Each stop counts for a unit by its probability of lying on it, from draft, nearby stops, "
                       "its own soil and observed bedrock. Numbers of stops are therefore sums of probabilities, "
                       "written as 'about 23 stops'.";
    if (const std::string& by = judged.fit.skill.known_by; !by.empty())
        text += std::string(" A stop is called known to lie on a unit if its bedrock was observed there") +
                (by == "observed bedrock" ? "."
                 : by == "the draft map"  ? ", or else if the unit is drawn there."
                                          : ", or else if the unit is drawn there, far from every contact.");
    return text;
}

/// "slight (bubbles readily seen)" of "slight: bubbles readily seen".
std::string in_brackets(std::string_view meaning) {
    const std::size_t colon = meaning.find(": ");
    return colon == std::string_view::npos
               ? std::string(meaning)
               : std::string(meaning.substr(0, colon)) + " (" + std::string(meaning.substr(colon + 2)) + ")";
}

/// Explanation of the codes that occur in the chapter.
std::string codes_spelt_out(const JudgedSurvey& judged) {
    std::string reactions, textures;
    for (const field::EffervescenceClass& c : field::effervescence_classes()) {
        const auto has = [&](const infer::UnitSummary& unit) {
            return std::any_of(unit.reaction.values.begin(), unit.reaction.values.end(),
                               [&](const infer::Counted& value) { return value.name == c.code; });
        };
        if (std::any_of(judged.units.begin(), judged.units.end(), has))
            reactions += (reactions.empty() ? "" : ", ") + in_brackets(c.meaning);
    }
    for (std::size_t c = 0; c < field::texture_class_count; ++c) {
        const auto texture = static_cast<field::TextureClass>(c);
        textures += (c == 0 ? "" : ", ") + std::string(field::code(texture)) + ' ' + std::string(field::name(texture));
    }
    return (reactions.empty() ? std::string() : "Classes of reaction to acid: " + reactions + ". ") +
           "Texture classes in the triangles: " + textures + ".";
}

Document whole_chapter(const JudgedSurvey& judged, const std::vector<StopPhoto>& photos, const Svg& plate,
                       const MapSheet& sheet) {
    const model::Survey& survey = judged.data->survey;
    Document document;
    document.title = survey.title.empty() ? "The map units" : survey.title + ": the map units";
    document.blocks.emplace_back(Heading{1, document.title});
    document.blocks.emplace_back(Paragraph{how_it_was_made(judged)});
    if (!judged.fit.calibrated && !judged.units.empty())
        document.blocks.emplace_back(
            Paragraph{"Use the probabilities only to rank stops: bedrock was observed at too few stops to check "
                      "them."});
    document.blocks.emplace_back(Paragraph{most_confused_sentence(survey, judged.units)});
    document.blocks.emplace_back(Paragraph{codes_spelt_out(judged)});
    if (sheet.denominator > 0) {
        const std::string paper = paper_for(sheet.drawing).name;
        std::string caption = "The map. Printed " + (paper.empty() ? "at its full size" : "on " + paper) +
                              ", its scale is " + scale_words(sheet.denominator) + ". It shows " +
                              counted(survey.units.size(), "unit", "units") + ", " +
                              counted(judged.relocation.contacts.size(), "contact", "contacts") + " and " +
                              counted(survey.stops.size(), "stop", "stops") +
                              ". Grid: " + std::to_string(std::llround(sheet.grid_m)) + " m.";
        document.blocks.emplace_back(
            Figure{"map_sheet", sheet.drawing.inline_markup(caption), caption, sheet.drawing.width(), true});
    }
    for (const model::UnitIndex unit : in_age_order(survey)) {
        std::vector<Block> section = unit_section(judged, unit, photos);
        std::move(section.begin(), section.end(), std::back_inserter(document.blocks));
    }
    document.blocks.emplace_back(Heading{2, "Which unit is taken for which", "correlation"});
    document.blocks.emplace_back(Paragraph{most_confused_sentence(survey, judged.units)});
    document.blocks.emplace_back(correlation_table(judged));
    document.blocks.emplace_back(Heading{2, "Legend", "legend"});
    const std::string caption =
        "Legend plate: units in age order, contacts by how well they are known, stops by verdict, each with its "
        "number.";
    document.blocks.emplace_back(Figure{"legend", plate.inline_markup(caption), caption, plate.width(), false});
    return document;
}

std::string bytes_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

void save(const fs::path& path, const std::string& text) {
    fs::create_directories(path.parent_path());
    std::ofstream out(path, std::ios::binary);
    out << text;
    if (!out.flush())
        throw Error({.source = path.string()}, "the file cannot be written", "See whether its disk is full.");
}

}  // namespace

ChapterSummary write_survey_chapter(const fs::path& survey_file, const ChapterOptions& options, Progress& progress) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    const fs::path folder = results_folder(file, options.results);
    std::vector<fs::path> written;
    for (const char* name : {"chapter.html", "chapter.md", "legend.svg", "map_sheet.svg", "map_sheet.pdf",
                             "chapter.docx", "chapter.odt", figure_folder}) {
        const std::vector<fs::path> more = io::files_written_for(folder / name);
        written.insert(written.end(), more.begin(), more.end());
    }
    io::refuse_to_replace(io::files_of(file), written);

    ProblemLog problems;
    const JudgedSurvey judged = judge_survey(
        file, {.threads = options.threads, .described_by = options.described_by, .follow_traverses = false}, problems,
        progress);
    const std::vector<StopPhoto> photos = match_photos(file, judged.data->survey, problems);
    progress.stage("writing the chapter", 0);
    const MapSheet sheet = map_sheet(judged, file.credits, options.scale);
    const Svg plate = legend_plate(judged, 90, sheet.denominator);
    const Document document = whole_chapter(judged, photos, plate, sheet);
    const std::string markdown = as_markdown(document, figure_folder);

    ChapterSummary summary;
    summary.title = judged.data->survey.title;
    summary.units = judged.units.size();
    summary.stops = judged.data->survey.stops.size();
    summary.scale = sheet.denominator;
    summary.most_confused = most_confused_sentence(judged.data->survey, judged.units);
    io::PendingFiles together;
    const auto write = [&](const fs::path& path, const std::string& text) {
        together.write(folder / path, [&](std::ostream& out) { out << text; });
        summary.files.push_back(folder / path);
    };
    write("chapter.html", as_html(document));
    write("chapter.md", markdown);
    if (options.docx || options.odt) {
        if (!is_installed("pandoc"))
            summary.without_word_processor = "pandoc is not installed";
        else if (!is_installed("rsvg-convert"))
            summary.without_word_processor = "rsvg-convert, which pandoc needs for drawings, is not installed";
    }
    if ((options.docx || options.odt) && summary.without_word_processor.empty()) {
        progress.stage("writing for word processors", 0);
        const ScratchFolder scratch;
        save(scratch.path() / "chapter.md", markdown);
        for (const Block& block : document.blocks) {
            if (const auto* figure = std::get_if<Figure>(&block))
                save(scratch.path() / figure_folder / (figure->name + ".svg"), figure->svg);
            if (const auto* photo = std::get_if<Photograph>(&block))
                save(scratch.path() / figure_folder / (photo->name + ".jpg"), photo->jpeg);
        }
        for (const char* name : {"chapter.docx", "chapter.odt"}) {
            if (!(std::string(name).ends_with("docx") ? options.docx : options.odt)) continue;
            write_by_pandoc(scratch.path() / "chapter.md", scratch.path(), scratch.path() / name);
            write(name, bytes_of(scratch.path() / name));
        }
    }
    write("legend.svg", plate.document("Legend plate"));
    if (sheet.denominator > 0) {
        write("map_sheet.svg", sheet.drawing.document("Map sheet"));
        summary.paper = paper_for(sheet.drawing).name;
    }
    if (sheet.denominator > 0 && options.pdf) {
        progress.stage("printing the map sheet", 0);
        const std::string title = summary.title.empty() ? "Map sheet" : summary.title + ": map sheet";
        PrintedPage page = print_to_pdf(printed_page(sheet.drawing, title), "map_sheet.svg");
        if (page.bytes) write("map_sheet.pdf", *page.bytes);
        summary.why_no_pdf = std::move(page.why_not);
    }
    std::error_code none;
    summary.older_pdf =
        fs::exists(folder / "map_sheet.pdf", none) &&
        std::find(summary.files.begin(), summary.files.end(), folder / "map_sheet.pdf") == summary.files.end();
    for (const Block& block : document.blocks) {
        if (const auto* figure = std::get_if<Figure>(&block))
            write(fs::path(figure_folder) / (figure->name + ".svg"),
                  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + figure->svg);
        if (const auto* photo = std::get_if<Photograph>(&block))
            write(fs::path(figure_folder) / (photo->name + ".jpg"), photo->jpeg);
    }
    together.put_in_place();
    return summary;
}

}  // namespace subcrop::publish
