#include <sstream>

#include "cli/pages.hpp"

namespace subcrop::cli {

namespace {

/// Text as groff prints it letter by letter: hyphens that can be copied, quotation marks as written, no line a command.
std::string escaped(std::string_view text) {
    std::string result;
    for (const char c : text) {
        switch (c) {
            case '\\':
                result += "\\e";
                break;
            case '-':
                result += "\\-";
                break;
            case '\'':
                result += "\\(aq";
                break;
            case '`':
                result += "\\(ga";
                break;
            case '^':
                result += "\\(ha";
                break;
            case '~':
                result += "\\(ti";
                break;
            default:
                result += c;
        }
    }
    return result.starts_with('.') ? "\\&" + result : result;
}

std::string upper(std::string text) {
    for (char& c : text)
        if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    return text;
}

std::string page_name(const CLI::App& program, const CLI::App& page) {
    return &page == &program ? program.get_name() : program.get_name() + '-' + page.get_name();
}

std::string entry(const std::string& name, const std::string& meaning) {
    return ".TP\n\\fB" + escaped(name) + "\\fR" + '\n' + escaped(meaning) + '\n';
}

/// A row of a table in the help, "  name   meaning": split at two spaces, or after the first word where the name is
/// long.
std::pair<std::string, std::string> row(const std::string& line) {
    const std::string text = line.substr(2);
    std::size_t end = text.find("  ");
    if (end == std::string::npos) {
        end = text.find(' ');
        if (end == std::string::npos || text[end - 1] == ',') return {text, ""};
    }
    const std::size_t begin = text.find_first_not_of(' ', end);
    return {text.substr(0, end), begin == std::string::npos ? "" : text.substr(begin)};
}

/// The parts of the text below the options in the help.
struct Footer {
    std::string description, examples, exit_codes, tables;
};

Footer parts_of(const std::string& footer) {
    Footer parts;
    std::string* part = &parts.description;
    std::pair<std::string, std::string> open;  // the row of a table whose meaning may go on
    const auto close = [&] {
        if (!open.first.empty()) parts.tables += entry(open.first, open.second);
        open = {};
    };
    std::istringstream lines(footer);
    for (std::string line; std::getline(lines, line);) {
        const std::size_t indent = line.find_first_not_of(' ');
        if (indent == std::string::npos) {
            close();
            part = &parts.description;
            if (!part->empty() && !part->ends_with(".PP\n")) *part += ".PP\n";
        } else if (line.starts_with("Example: ") || (part == &parts.examples && indent > 0)) {
            part = &parts.examples;
            *part += escaped(line.substr(std::min<std::size_t>(9, line.size()))) + '\n';
        } else if (line.starts_with("Exit codes: ")) {
            part = &parts.exit_codes;
            *part += escaped(line.substr(12)) + '\n';
        } else if (indent == 2) {
            close();
            open = row(line);
        } else if (indent > 2 && !open.first.empty()) {
            open.second += ' ' + line.substr(indent);
        } else if (line == "Words" || line.starts_with("Keys of --json:")) {
            part = &parts.tables;
            const std::size_t colon = line.find(": ");
            *part += ".SH " + escaped(upper(line.substr(0, line.find(':')))) + '\n';
            if (colon != std::string::npos) *part += escaped(line.substr(colon + 2)) + '\n';
        } else {
            // An example ends where a line begins at the margin.
            if (part == &parts.examples) part = &parts.description;
            *part += escaped(line) + '\n';
        }
    }
    close();
    if (parts.description.ends_with(".PP\n")) parts.description.erase(parts.description.size() - 4);
    return parts;
}

std::string options_of(const CLI::App& page, bool positional) {
    const CLI::Formatter help;
    std::string text;
    for (const CLI::Option* option : page.get_options()) {
        if (option->get_positional() != positional) continue;
        text +=
            entry(help.make_option_name(option, positional) + help.make_option_opts(option), option->get_description());
    }
    return text;
}

}  // namespace

std::string man_page(const CLI::App& program, const CLI::App& page, std::string_view version) {
    const bool whole = &page == &program;
    const std::string name = page_name(program, page);
    const Footer footer = parts_of(page.get_footer());
    std::string text = "'\\\" -*- coding: UTF-8 -*-\n.TH " + escaped(upper(name)) + " 1 \"\" \"" + program.get_name() +
                       ' ' + std::string(version) + "\" \"User Commands\"\n";
    text += ".SH NAME\n" + escaped(name) + " \\- " + escaped(page.get_description()) + '\n';
    text += ".SH SYNOPSIS\n\\fB" + program.get_name() + (whole ? "\\fR \\fIVERB\\fR" : ' ' + page.get_name() + "\\fR") +
            " [\\fIoptions\\fR]";
    for (const CLI::Option* option : page.get_options())
        if (option->get_positional()) text += ' ' + escaped(CLI::Formatter().make_option_usage(option));
    text += '\n';
    if (!footer.description.empty()) text += ".SH DESCRIPTION\n" + footer.description;
    if (whole) {
        text += ".SH VERBS\n";
        for (const CLI::App* verb : program.get_subcommands({}))
            text += entry(verb->get_name(), verb->get_description());
    }
    if (const std::string arguments = options_of(page, true); !arguments.empty()) text += ".SH ARGUMENTS\n" + arguments;
    text += ".SH OPTIONS\n" + options_of(page, false);
    if (!footer.exit_codes.empty()) text += ".SH EXIT STATUS\n" + footer.exit_codes;
    text += footer.tables;
    if (!footer.examples.empty()) text += ".SH EXAMPLES\n.nf\n" + footer.examples + ".fi\n";
    text += ".SH SEE ALSO\n";
    if (whole) {
        std::string others;
        for (const CLI::App* verb : program.get_subcommands({}))
            others += (others.empty() ? "" : ",\n") + ("\\fB" + escaped(page_name(program, *verb)) + "\\fR(1)");
        text += others + '\n';
    } else {
        text += "\\fB" + program.get_name() + "\\fR(1)\n";
    }
    return text;
}

}  // namespace subcrop::cli
