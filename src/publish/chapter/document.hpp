// A chapter as a list of blocks. Written as a page or as Markdown it has the same words and figures.
#pragma once

#include <string>
#include <variant>
#include <vector>

namespace subcrop::publish::chapter {

struct Heading {
    int level = 1;
    std::string text;
    std::string id = {};  ///< empty: none
};
struct Paragraph {
    std::string text;
};
struct List {
    std::vector<std::string> items;
};
struct Table {
    std::string caption;
    std::vector<std::string> header;
    std::vector<std::vector<std::string>> rows;
};
struct Figure {
    std::string name;  ///< of its file, without ending
    std::string svg;   ///< ready for a page
    std::string caption;
    double width_mm = 0;
    bool whole_page = false;
};
struct Photograph {
    std::string name;   ///< of its file, without ending
    std::string jpeg;   ///< the bytes of a small copy
    std::string shows;  ///< for readers who cannot see it
    std::string caption;
    double width_mm = 0;
};
using Block = std::variant<Heading, Paragraph, List, Table, Figure, Photograph>;

struct Document {
    std::string title;
    std::vector<Block> blocks;
};

/// One file that uses no network and prints on A4. Whole-page figures have pages of their own.
std::string as_html(const Document& document);
/// For pandoc and for people: pipe tables, figures and photographs as files in `figure_folder`. Nothing written by
/// users is markup.
std::string as_markdown(const Document& document, const std::string& figure_folder);

}  // namespace subcrop::publish::chapter
