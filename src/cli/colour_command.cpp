#include <array>
#include <cstdio>
#include <memory>
#include <optional>

#include "cli/calculator.hpp"
#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::cli {

namespace {

struct ColourOptions {
    std::vector<std::string> notations;
    bool json = false;
};

struct Colour {
    std::string written;
    field::ColourReading reading;
    std::string remark;
};

const std::vector<std::string> sources = {
    "1943 renotation (Newhall, Nickerson and Judd, Journal of the Optical Society of America 33:385-418), interpolated",
    "luminance of value ASTM D1535-08", "CIELAB with the white of illuminant C",
    "sRGB adapted to D65 by Bradford, for a swatch only"};
const std::string difference_source = "CIEDE2000 (Sharma, Wu and Dalal 2005, Color Research and Application 30:21-30)";

std::string hex(const field::Srgb& colour) {
    std::array<char, 8> text{};
    std::snprintf(text.data(), text.size(), "#%02X%02X%02X", colour.red, colour.green, colour.blue);
    return text.data();
}

std::string_view word(field::Moisture moisture) {
    switch (moisture) {
        case field::Moisture::moist:
            return "moist";
        case field::Moisture::dry:
            return "dry";
        case field::Moisture::unstated:
            break;
    }
    return "unstated";
}

/// Of a range the mean of its ends.
field::Lab lab_of(const field::ColourReading& reading) {
    field::Lab mean;
    for (const field::Munsell& chip : reading.chips) {
        const field::Lab lab = field::to_lab(chip);
        const double share = 1.0 / static_cast<double>(reading.chips.size());
        mean.lightness += share * lab.lightness;
        mean.a += share * lab.a;
        mean.b += share * lab.b;
    }
    return mean;
}

void print_human(std::ostream& out, const std::vector<Colour>& colours) {
    const std::size_t width = screen_width();
    for (const Colour& colour : colours) {
        out << colour.reading.notation;
        if (colour.reading.moisture != field::Moisture::unstated) out << ", " << word(colour.reading.moisture);
        out << '\n';
        Rows rows;
        if (!colour.remark.empty()) rows.emplace_back("remark", colour.remark);
        for (const field::Munsell& chip : colour.reading.chips) {
            if (colour.reading.chips.size() > 1) rows.emplace_back("chip", field::notation(chip));
            const auto xyy = field::to_chromaticity(chip);
            const auto lab = field::to_lab(chip);
            rows.emplace_back("xyY", "x " + fixed(xyy.x, 4) + ", y " + fixed(xyy.y, 4) + ", Y " +
                                         fixed(xyy.luminance, 2) + " (illuminant C; Y in percent)");
            rows.emplace_back("CIELAB",
                              "L* " + fixed(lab.lightness, 2) + ", a* " + fixed(lab.a, 2) + ", b* " + fixed(lab.b, 2));
            rows.emplace_back("sRGB swatch", hex(field::to_srgb(chip)));
            rows.emplace_back("nearest chip",
                              field::notation(field::nearest_chip(lab)) + " of an ordinary soil colour book");
        }
        print_pairs(out, rows, width);
    }
    std::vector<std::string> named = sources;
    if (colours.size() == 2) {
        out << "Difference: "
            << fixed(field::colour_difference(lab_of(colours[0].reading), lab_of(colours[1].reading)), 2)
            << " CIEDE2000; 1 is about the least an eye sees\n";
        named.push_back(difference_source);
    }
    print_sources(out, named, width);
}

void print_answer(std::ostream& out, const std::vector<Colour>& colours) {
    Json json;
    json["colours"] = Json::array();
    for (const Colour& colour : colours) {
        Json chips = Json::array();
        for (const field::Munsell& chip : colour.reading.chips) {
            const auto xyy = field::to_chromaticity(chip);
            const auto lab = field::to_lab(chip);
            chips.push_back({{"notation", field::notation(chip)},
                             {"xyY", {xyy.x, xyy.y, xyy.luminance}},
                             {"lab", {lab.lightness, lab.a, lab.b}},
                             {"srgb", hex(field::to_srgb(chip))},
                             {"nearest_chip", field::notation(field::nearest_chip(lab))}});
        }
        json["colours"].push_back({{"written", colour.written},
                                   {"notation", colour.reading.notation},
                                   {"moisture", word(colour.reading.moisture)},
                                   {"remark", colour.remark},
                                   {"chips", chips}});
    }
    std::vector<std::string> named = sources;
    if (colours.size() == 2) {
        json["difference"] = field::colour_difference(lab_of(colours[0].reading), lab_of(colours[1].reading));
        named.push_back(difference_source);
    }
    json["sources"] = named;
    print_json(out, json);
}

int colour(const ColourOptions& options) {
    std::vector<Colour> colours;
    for (const std::string& written : options.notations) {
        auto parsed = field::parse_munsell(written);
        if (!parsed) return refuse(parsed.message, parsed.remedy);
        colours.push_back({written, std::move(*parsed.value), std::move(parsed.message)});
    }
    options.json ? print_answer(std::cout, colours) : print_human(std::cout, colours);
    return done;
}

}  // namespace

Command add_colour(CLI::App& parent) {
    auto options = std::make_shared<ColourOptions>();
    CLI::App* app =
        parent.add_subcommand("colour", "What colour a Munsell notation stands for, and how much two differ");
    app->add_option("NOTATION", options->notations, "One notation or two, each in quotation marks")
        ->type_name("TEXT")
        ->expected(1, 2)
        ->required();
    app->add_flag("--json", options->json, "Print the answer as JSON; its keys are listed below");
    app->footer(
        "Example: subcrop colour '10YR 5/6 moist' '7.5YR 4/4'\n\n"
        "Exit codes: 0 done, 1 a notation cannot be read, 2 wrong usage.\n\n"
        "Keys of --json:\n"
        "  colours     each with written, notation, moisture, remark and chips; a range has two chips, each with\n"
        "              notation, xyY (illuminant C), lab, srgb and nearest_chip of an ordinary soil colour book\n"
        "  difference  CIEDE2000, where two notations are given; of a range its mean counts\n"
        "  sources     where the figures come from");
    return {app, [options] { return colour(*options); }};
}

}  // namespace subcrop::cli
