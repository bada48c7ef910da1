// The unit chapter: descriptions of the units that can go into a report as they are, with legend plate and map sheet.
// The library call behind `subcrop chapter`.
//
//     ChapterSummary chapter = write_survey_chapter("survey.json", {.docx = true}, progress);
//     std::string warning = chapter.most_confused;  // a sentence on the two units that the soil confuses most
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/infer/unit_summary.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct ChapterOptions {
    unsigned threads = 0;                               ///< 0: all the machine has; changes no result
    std::optional<std::filesystem::path> results = {};  ///< folder instead of the survey file's own
    infer::DescribedBy described_by = infer::DescribedBy::posterior;
    double scale = 0;   ///< denominator of the map sheet's scale; 0: the largest round one that fits A3
    bool docx = false;  ///< also chapter.docx, through pandoc
    bool odt = false;   ///< also chapter.odt
    bool pdf = true;    ///< print the map sheet too, if Chromium is installed
};

struct ChapterSummary {
    std::string title;
    std::vector<std::filesystem::path> files;  ///< in the order of their use: page, Markdown, word processor, drawings
    std::size_t units = 0;
    std::size_t stops = 0;
    double scale = 0;                    ///< of the map sheet
    std::string most_confused;           ///< a sentence
    std::string without_word_processor;  ///< why a requested .docx or .odt was not written; empty: all were
    std::string paper;                   ///< of map_sheet.pdf: "A3"; empty: of no standard size, or no sheet
    std::string why_no_pdf;              ///< a sentence if map_sheet.pdf was wanted and there is none
    bool older_pdf = false;              ///< none was written, and an older one is in the folder
};

/// Reads and judges the survey as `run` does. Writes chapter.html, chapter.md, legend.svg, map_sheet.svg,
/// map_sheet.pdf, the drawings and small copies of photographs (folder chapter_figures), all together or none. Throws
/// Error if the run is impossible.
ChapterSummary write_survey_chapter(const std::filesystem::path& survey_file, const ChapterOptions& options,
                                    Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
