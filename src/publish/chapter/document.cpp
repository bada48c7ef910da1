#include "publish/chapter/document.hpp"

#include <string_view>

#include "publish/chapter/svg.hpp"
#include "publish/stop_photos.hpp"
#include "publish/xml_text.hpp"

namespace subcrop::publish::chapter {

namespace {

constexpr std::string_view sheet = R"(
:root { color-scheme: light; }
body { font: 16px/1.5 Georgia, "DejaVu Serif", serif; color: #1b2126; background: #fff; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; overflow-wrap: anywhere; }
h1, h2, h3 { line-height: 1.2; } h2 { margin-top: 2.5rem; border-bottom: 1px solid #9aa3a9; padding-bottom: .2rem; } h3 { margin: 1.4rem 0 .4rem; }
p, ul { margin: .4rem 0 .8rem; } a { color: #24567a; }
figure { margin: 1rem 0; break-inside: avoid; overflow-x: auto; } figure svg { max-width: 100%; height: auto; }
figure.photo { display: inline-block; vertical-align: top; margin: .4rem 1rem .4rem 0; }
figure.photo img { display: block; width: 100%; height: auto; }
figcaption, caption { font-size: .9rem; text-align: left; color: #41494f; padding: .3rem 0; }
div.wide { overflow-x: auto; }
table { border-collapse: collapse; font-size: .9rem; break-inside: avoid; margin: .6rem 0 1rem; }
th, td { text-align: left; vertical-align: top; border-bottom: 1px solid #c9cfd3; padding: .2rem .7rem .2rem 0; }
@page { size: A4; margin: 18mm; } @page sheet { size: A3 landscape; margin: 5mm; }
@media print { body { max-width: none; margin: 0; padding: 0; font-size: 10.5pt; } h2, h3 { break-after: avoid; } a { color: inherit; text-decoration: none; }
  nav { display: none; } figure.sheet { page: sheet; break-before: page; break-after: page; } }
)";

std::string html_of(const Heading& h) {
    const std::string level = std::to_string(h.level);
    return "<h" + level + (h.id.empty() ? "" : " id=\"" + escaped(h.id) + "\"") + ">" + escaped(h.text) + "</h" +
           level + ">\n";
}
std::string html_of(const Paragraph& p) { return "<p>" + escaped(p.text) + "</p>\n"; }
std::string html_of(const List& list) {
    std::string html = "<ul>\n";
    for (const std::string& item : list.items) html += "<li>" + escaped(item) + "</li>\n";
    return html + "</ul>\n";
}
std::string html_of(const Table& table) {
    std::string html = "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"" + escaped(table.caption) +
                       "\"><table>\n<caption>" + escaped(table.caption) + "</caption>\n<thead><tr>";
    for (const std::string& cell : table.header) html += "<th scope=\"col\">" + escaped(cell) + "</th>";
    html += "</tr></thead>\n<tbody>\n";
    for (const auto& row : table.rows) {
        html += "<tr>";
        for (std::size_t i = 0; i < row.size(); ++i)
            html += i == 0 ? "<th scope=\"row\">" + escaped(row[i]) + "</th>" : "<td>" + escaped(row[i]) + "</td>";
        html += "</tr>\n";
    }
    return html + "</tbody>\n</table></div>\n";
}
std::string html_of(const Figure& figure) {
    return std::string("<figure") + (figure.whole_page ? " class=\"sheet\"" : "") + ">\n" + figure.svg +
           "<figcaption>" + escaped(figure.caption) + "</figcaption></figure>\n";
}
std::string html_of(const Photograph& photo) {
    return "<figure class=\"photo\" style=\"width: " + number(photo.width_mm) + "mm\"><img src=\"" +
           jpeg_address(photo.jpeg) + "\" alt=\"" + escaped(photo.shows) + "\"><figcaption>" + escaped(photo.caption) +
           "</figcaption></figure>\n";
}

/// Characters that begin markup are escaped.
std::string plain(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (std::string_view("\\`*_{}[]<>#+!|~^$@\"'&").find(c) != std::string_view::npos) result += '\\';
        result += c == '\n' || c == '\r' || c == '\t' ? ' ' : c;
    }
    return result;
}

/// Escapes the beginning of a line that looks like a list or a heading.
std::string line(std::string_view text) {
    std::string result = plain(text);
    std::size_t digits = 0;
    while (digits < result.size() && result[digits] >= '0' && result[digits] <= '9') ++digits;
    const bool numbered = digits > 0 && digits < result.size() && (result[digits] == '.' || result[digits] == ')');
    if (numbered)
        result.insert(digits, "\\");
    else if (result.starts_with('-') || result.starts_with('=') || result.starts_with(':') || result.starts_with('%'))
        result.insert(0, "\\");
    return result;
}

std::string markdown_of(const Heading& h, const std::string&) {
    return std::string(static_cast<std::size_t>(h.level), '#') + ' ' + plain(h.text) + "\n\n";
}
std::string markdown_of(const Paragraph& p, const std::string&) { return line(p.text) + "\n\n"; }
std::string markdown_of(const List& list, const std::string&) {
    std::string text;
    for (const std::string& item : list.items) text += "- " + line(item) + '\n';
    return text + '\n';
}
std::string markdown_of(const Table& table, const std::string&) {
    std::string text = "|", rule = "|";
    for (const std::string& cell : table.header) {
        text += ' ' + plain(cell) + " |";
        rule += "---|";
    }
    text += '\n' + rule + '\n';
    for (const auto& row : table.rows) {
        text += '|';
        for (const std::string& cell : row) text += ' ' + plain(cell) + " |";
        text += '\n';
    }
    return text + "\n: " + plain(table.caption) + "\n\n";
}
std::string markdown_of(const Figure& figure, const std::string& folder) {
    return "![" + plain(figure.caption) + "](" + folder + '/' + figure.name +
           ".svg){width=" + number(std::min(figure.width_mm, 160.0)) + "mm}\n\n";
}

std::string markdown_of(const Photograph& photo, const std::string& folder) {
    return "![" + plain(photo.caption) + "](" + folder + '/' + photo.name + ".jpg){width=" + number(photo.width_mm) +
           "mm}\n\n";
}

}  // namespace

std::string as_html(const Document& document) {
    std::string body, contents;
    for (const Block& block : document.blocks) {
        body += std::visit([](const auto& one) { return html_of(one); }, block);
        if (const auto* heading = std::get_if<Heading>(&block);
            heading != nullptr && heading->level == 2 && !heading->id.empty())
            contents += "<li><a href=\"#" + escaped(heading->id) + "\">" + escaped(heading->text) + "</a></li>\n";
    }
    const std::size_t begin = body.find("<h2");
    if (!contents.empty() && begin != std::string::npos)
        body.insert(begin, "<nav aria-label=\"Contents\"><ul>\n" + contents + "</ul></nav>\n");
    return "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
           "content=\"width=device-width, initial-scale=1\">\n<title>" +
           escaped(document.title) + "</title>\n<style>" + std::string(sheet) + "</style>\n</head>\n<body>\n<main>\n" +
           body + "</main>\n</body>\n</html>\n";
}

std::string as_markdown(const Document& document, const std::string& figure_folder) {
    std::string text;
    for (const Block& block : document.blocks)
        text += std::visit([&](const auto& one) { return markdown_of(one, figure_folder); }, block);
    return text;
}

}  // namespace subcrop::publish::chapter
