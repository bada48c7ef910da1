#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <optional>
#include <utility>

#include "cli/calculator.hpp"
#include "subcrop/field/fragments.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::cli {

namespace {

struct TextureOptions {
    std::vector<std::string> words;
    std::optional<double> fragments;
    std::string kind = "gravel";
    bool json = false;
};

const std::string limits_source =
    "class limits and fragment modifiers Soil Survey Manual (2017), chapter 3; 90 % for the noun alone from memory";
const std::string ilr_source = "ilr coordinates Egozcue et al. 2003, Mathematical Geology 35:279-300";

/// "33.3", "33,3" and "33 %" are numbers of percent.
std::optional<double> number(std::string word) {
    if (word.ends_with('%')) word.pop_back();
    if (std::count(word.begin(), word.end(), ',') == 1) std::replace(word.begin(), word.end(), ',', '.');
    double value = 0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
    if (error != std::errc() || end != word.data() + word.size()) return std::nullopt;
    return value;
}

/// What is written, word by word: '65 25 10' in quotation marks is three, '65,25,10' too, and '65 %' is one.
std::vector<std::string> parted(const std::vector<std::string>& given) {
    std::vector<std::string> result;
    for (const std::string& word : given) {
        std::string part;
        const bool list = std::count(word.begin(), word.end(), ',') > 1 && word.find(' ') == std::string::npos;
        for (const char c : word + ' ') {
            if (c != ' ' && c != ';' && !(list && c == ',')) {
                part += c;
            } else if (part == "%" && !result.empty()) {
                result.back() += std::exchange(part, {});
            } else if (!part.empty()) {
                result.push_back(std::exchange(part, {}));
            }
        }
    }
    return result;
}

bool is_figure(const std::string& word) { return word == "-" || number(word); }

/// What is known of the fine earth: a grain size, or a class alone.
struct Texture {
    field::TextureClass texture_class = field::TextureClass::loam;
    std::optional<field::GrainSize> size;
    std::string name;  ///< in full
    std::string remark;
};

void print_human(std::ostream& out, const Texture& texture) {
    const std::size_t width = screen_width();
    out << texture.name << '\n';
    Rows rows;
    if (!texture.remark.empty()) rows.emplace_back("remark", texture.remark);
    rows.emplace_back("class", std::string(field::code(texture.texture_class)) + ", " +
                                   std::string(field::name(texture.texture_class)));
    if (texture.size) {
        const auto [y1, y2] = field::ilr(*texture.size);
        rows.emplace_back("fine earth", percentages(*texture.size, 1));
        rows.emplace_back("ilr", fixed(y1, 3) + ", " + fixed(y2, 3));
    } else {
        const auto& [mean, c] = field::class_distribution(texture.texture_class);
        const auto [least, greatest] = field::class_range(texture.texture_class);
        const auto range = [](double low, double high) { return fixed(low, 0) + " to " + fixed(high, 0) + " %"; };
        rows.emplace_back("range", "sand " + range(least.sand, greatest.sand) + ", silt " +
                                       range(least.silt, greatest.silt) + ", clay " + range(least.clay, greatest.clay));
        rows.emplace_back("mean", percentages(field::from_ilr(mean), 1) +
                                      " (of ilr, every grain size of the class being equally likely)");
        rows.emplace_back("ilr", "mean " + fixed(mean[0], 3) + ", " + fixed(mean[1], 3) + "; standard errors " +
                                     fixed(std::sqrt(c[0]), 3) + ", " + fixed(std::sqrt(c[2]), 3) + "; correlation " +
                                     fixed(c[1] / std::sqrt(c[0] * c[2]), 2));
    }
    print_pairs(out, rows, width);
    print_sources(out, {limits_source, ilr_source}, width);
}

void print_answer(std::ostream& out, const Texture& texture) {
    Json json;
    json["name"] = texture.name;
    json["class"] = field::code(texture.texture_class);
    json["remark"] = texture.remark;
    if (texture.size) {
        json["grain_size"] = json_of(*texture.size);
        json["ilr"] = {{"mean", field::ilr(*texture.size)}};
    } else {
        const auto& distribution = field::class_distribution(texture.texture_class);
        const auto [least, greatest] = field::class_range(texture.texture_class);
        json["grain_size"] = json_of(field::from_ilr(distribution.mean));
        json["ilr"] = json_of(distribution);
        json["range"] = {{"least", json_of(least)}, {"greatest", json_of(greatest)}};
    }
    json["sources"] = {limits_source, ilr_source};
    print_json(out, json);
}

int texture(const TextureOptions& options) {
    Texture answer;
    std::size_t figures = 0;
    const std::vector<std::string> words = parted(options.words);
    for (const std::string& word : words) figures += is_figure(word) ? 1 : 0;
    std::string modifier, with_sand;
    if (figures > 0 && figures == words.size()) {
        if (figures != 3) {
            std::cerr
                << "subcrop: three figures make a grain size, SAND SILT CLAY; write - for one that is not known.\n"
                   "See 'subcrop texture --help'.\n";
            return wrong_usage;
        }
        const auto closed = field::close_grain_size(number(words[0]), number(words[1]), number(words[2]));
        if (!closed) return refuse(closed.message, closed.remedy);
        answer.size = closed.value;
        answer.remark = closed.message;
        answer.texture_class = field::classify(*closed.value);
    } else {
        std::string note;
        for (const std::string& word : options.words) note += (note.empty() ? "" : " ") + word;
        const auto parsed = field::parse_texture(note);
        if (!parsed) return refuse(parsed.message, parsed.remedy);
        answer.texture_class = parsed.value->texture_class;
        answer.remark = parsed.message;
        modifier = parsed.value->modifier;
        with_sand = parsed.value->name_with_sand;
    }
    const std::string plain = with_sand.empty() ? std::string(field::name(answer.texture_class)) : with_sand;
    answer.name = (modifier.empty() ? "" : modifier + " ") + plain;
    if (options.fragments) {
        const auto kind = field::parse_fragment_kind(options.kind);
        if (!kind) return refuse(kind.message, kind.remedy);
        answer.name = field::texture_name(answer.texture_class, *options.fragments, *kind.value);
        const std::string of_class(field::name(answer.texture_class));
        if (answer.name.ends_with(of_class))
            answer.name.replace(answer.name.size() - of_class.size(), of_class.size(), plain);
    }
    options.json ? print_answer(std::cout, answer) : print_human(std::cout, answer);
    return done;
}

}  // namespace

Command add_texture(CLI::App& parent) {
    auto options = std::make_shared<TextureOptions>();
    CLI::App* app = parent.add_subcommand("texture", "The texture class of a grain size, or what a class holds");
    app->add_option("TEXTURE", options->words, "SAND SILT CLAY in percent, with - for one that is the rest; or a class")
        ->type_name("WORD ...")
        ->required();
    CLI::Option* fragments =
        app->add_option("--fragments", options->fragments, "Coarse fragments in percent of the whole soil by volume")
            ->type_name("PERCENT")
            ->check(CLI::Range(0.0, 100.0).description(""));
    app->add_option("--kind", options->kind,
                    "Their kind: gravel (when left out), cobbles, stones, boulders, channers, flagstones")
        ->type_name("WORD")
        ->check(offers("gravel cobbles stones boulders channers flagstones"))
        ->needs(fragments);
    app->add_flag("--json", options->json, "Print the answer as JSON; its keys are listed below");
    app->footer(
        "Example: subcrop texture 65 25 10 --fragments 40 --kind gravel\n"
        "         subcrop texture SIL\n\n"
        "Exit codes: 0 done, 1 the texture cannot be read, 2 wrong usage.\n\n"
        "Keys of --json:\n"
        "  name        with the modifier of coarse fragments and the size of the sand; from 90 percent of fragments "
        "these alone\n"
        "  class       code\n"
        "  remark      how it was read, where that is worth a note\n"
        "  grain_size  sand, silt and clay in percent; of a class its mean\n"
        "  ilr         mean, and of a class covariance: var(y1), cov(y1, y2), var(y2)\n"
        "  range       of a class: least and greatest of each part\n"
        "  sources     where the figures come from");
    return {app, [options] { return texture(*options); }};
}

}  // namespace subcrop::cli
