#include "cli/command.hpp"
#include "cli/pages.hpp"

namespace subcrop::cli {

namespace {

/// In single quotes, as a shell takes a text word for word.
std::string in_quotes(std::string_view text) {
    std::string result = "'";
    for (const char c : text) result += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return result + '\'';
}

std::string joined(const std::vector<std::string>& words, const char* between) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : between) + word;
    return text;
}

std::vector<std::string> names_of(const CLI::Option& option) {
    std::vector<std::string> names;
    for (const std::string& name : option.get_snames()) names.push_back('-' + name);
    for (const std::string& name : option.get_lnames()) names.push_back("--" + name);
    return names;
}

/// Shell words for what follows an option or is at a place: "files", "folders", "words 'a4 letter'"; else "nothing".
std::string follows(const CLI::Option& option) {
    if (const std::string words = offered_words(option); !words.empty()) return "words " + in_quotes(words);
    const std::string type = option.get_type_name();
    if (type.starts_with("FILE")) return "files";
    if (type.starts_with("FOLDER")) return "folders";
    return "nothing";
}

/// What bash does while a verb's words are typed; the program's own, where the verb is empty.
std::string case_of(const CLI::App& app, const std::string& verb, const std::vector<std::string>& more_words) {
    std::vector<std::string> names;
    std::string after, place = more_words.empty() ? "nothing" : "words " + in_quotes(joined(more_words, " "));
    for (const CLI::Option* option : app.get_options()) {
        if (option->get_positional()) {
            if (place == "nothing") place = follows(*option);
            continue;
        }
        const std::vector<std::string> own = names_of(*option);
        names.insert(names.end(), own.begin(), own.end());
        if (option->get_items_expected_max() > 0)
            after += "                " + joined(own, "|") + ") wanted=(" + follows(*option) + ") ;;\n";
    }
    return "        " + in_quotes(verb) + ")\n            options=" + in_quotes(joined(names, " ")) +
           "\n            wanted=(" + place + ")\n" +
           (after.empty() ? "" : "            case $before in\n" + after + "            esac\n") + "            ;;\n";
}

}  // namespace

std::string bash_completion(const CLI::App& program) {
    std::vector<std::string> verbs;
    std::string cases;
    for (const CLI::App* verb : program.get_subcommands({})) {
        verbs.push_back(verb->get_name());
        cases += case_of(*verb, verb->get_name(), {});
    }
    const std::string name = program.get_name(), function = '_' + name;
    return "# Completion of " + name +
           " for bash. Written by the build from the program's own options; changes here are lost.\n" + function +
           "() {\n" + R"(    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} verb= options= i
    local -a wanted=()
    # bash takes the sign in --option=value for a word.
    [[ $word == = ]] && word=
    [[ $before == = ]] && before=${COMP_WORDS[COMP_CWORD - 2]}
    for ((i = 1; i < COMP_CWORD; ++i)); do
        [[ ${COMP_WORDS[i]} == -* ]] || { verb=${COMP_WORDS[i]}; break; }
    done
    case $verb in
)" + case_of(program, "", verbs) +
           cases +
           R"(    esac
    COMPREPLY=()
    if [[ $word == -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
        return
    fi
    case ${wanted[0]} in
        words) mapfile -t COMPREPLY < <(compgen -W "${wanted[1]}" -- "$word") ;;
        files) compopt -o filenames 2>/dev/null; mapfile -t COMPREPLY < <(compgen -f -- "$word") ;;
        folders) compopt -o filenames 2>/dev/null; mapfile -t COMPREPLY < <(compgen -d -- "$word") ;;
    esac
}
complete -F )" +
           function + ' ' + name + '\n';
}

}  // namespace subcrop::cli
