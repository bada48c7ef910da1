#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <optional>

#include "cli/calculator.hpp"
#include "subcrop/field/grain_size.hpp"
#include "subcrop/field/jar_test.hpp"

namespace subcrop::cli {

namespace {

struct JarOptions {
    field::JarReading reading;
    bool json = false;
};

const std::vector<std::string> settling_sources = {
    "Stokes' law for quartz grains of 2650 kg/m3", "viscosity of water IAPWS SR6-08",
    "density of water Tanaka et al. 2001, Metrologia 38:301-309", "usual times and pores common practice, no source"};
const std::string class_source = "class limits Soil Survey Manual (2017), chapter 3";

/// Seconds of "40s", "1 min", "2h", "1 day"; none where it is no time.
std::optional<double> seconds(const std::string& text) {
    double number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc() || !(number > 0) || !std::isfinite(number)) return std::nullopt;
    std::string unit(end, text.data() + text.size());
    unit.erase(0, unit.find_first_not_of(' ') == std::string::npos ? unit.size() : unit.find_first_not_of(' '));
    static const std::pair<const char*, double> units[] = {
        {"s", 1},       {"sec", 1},      {"second", 1},   {"seconds", 1}, {"m", 60},
        {"min", 60},    {"minute", 60},  {"minutes", 60}, {"h", 3600},    {"hr", 3600},
        {"hour", 3600}, {"hours", 3600}, {"d", 86400},    {"day", 86400}, {"days", 86400}};
    for (const auto& [name, factor] : units)
        if (unit == name) return number * factor;
    return std::nullopt;
}

/// "45 s", "1 min 7 s", "2 h", "11 h 36 min", "2 days 3 h"
std::string duration(double time_s) {
    struct Unit {
        double seconds;
        const char* name;
    };
    static constexpr Unit units[] = {{3600, "h"}, {60, "min"}, {1, "s"}};
    for (std::size_t i = 0; i + 1 < std::size(units); ++i) {
        if (std::round(time_s / units[i + 1].seconds) * units[i + 1].seconds < units[i].seconds) continue;
        const double smaller = std::round(time_s / units[i + 1].seconds);
        const double per = units[i].seconds / units[i + 1].seconds;
        const double whole = std::floor(smaller / per), rest = smaller - whole * per;
        return fixed(whole, 0) + ' ' + units[i].name + (rest > 0 ? ' ' + fixed(rest, 0) + ' ' + units[i + 1].name : "");
    }
    return fixed(time_s, 0) + " s";
}

/// Two figures that mean something: 0.0048 mm.
std::string millimetres(double size_mm) {
    const int decimals = std::clamp(1 - static_cast<int>(std::floor(std::log10(size_mm))), 0, 6);
    return fixed(size_mm, decimals) + " mm";
}

struct Line {
    std::string name;
    double time_s = 0;
    bool usual = false;
    double cut_mm = 0;
    bool stokes = false;
};

/// The lines drawn, or the usual ones, and what they cut at.
std::vector<Line> lines_of(const field::JarReading& reading) {
    std::vector<Line> lines;
    const auto add = [&](const char* name, std::optional<double> time_s, double usual_s) {
        if (!time_s && usual_s <= 0) return;
        Line line{name, time_s.value_or(usual_s), !time_s, 0, false};
        line.cut_mm = field::settled_size_mm(line.time_s, reading.water_height_cm, reading.temperature_c);
        line.stokes = field::obeys_stokes(line.cut_mm, reading.temperature_c);
        lines.push_back(line);
    };
    add("sand", reading.sand_read_after_s, field::usual_sand_mark_s);
    add("silt", reading.silt_read_after_s, field::usual_silt_mark_s);
    add("clay", reading.clay_read_after_s, 0);
    return lines;
}

std::string told(const Line& line) {
    std::string text = (line.usual ? "usually after " : "after ") + duration(line.time_s) + ": " +
                       (line.name == "clay" ? "clay of " : "all of ") + millimetres(line.cut_mm) + " and above is down";
    if (line.name == "clay") text += ", finer clay only in flocs";
    if (line.name == "silt" && line.cut_mm > 1.1 * field::silt_limit_mm) text += ", so finer silt is read as clay";
    if (line.name == "silt" && line.cut_mm < field::silt_limit_mm / 1.1)
        text += ", so the coarsest clay is read as silt";
    if (!line.stokes) text += " (beyond Stokes' law: such sand falls more slowly than this says)";
    return text;
}

/// What was not measured, which is not the same as a layer of 0 mm; empty where nothing is missing.
std::string missing_layer(const field::JarReading& reading) {
    const auto said = [](const std::string& name) {
        return "No " + name +
               " is given: it counts as not measured, so any amount is possible. If there was none, add --" + name +
               " 0.";
    };
    return !reading.sand_mm   ? said("sand")
           : !reading.silt_mm ? said("silt")
           : !reading.clay_mm ? said("clay")
                              : std::string();
}

bool has_layers(const field::JarReading& reading) { return reading.sand_mm || reading.silt_mm || reading.clay_mm; }

/// Classes from the likeliest down to 1 %.
std::vector<std::pair<field::TextureClass, double>> likely_classes(const field::IlrDistribution& distribution) {
    const auto probabilities = field::class_probabilities(distribution);
    std::vector<std::pair<field::TextureClass, double>> classes;
    for (std::size_t i = 0; i < probabilities.size(); ++i)
        classes.emplace_back(static_cast<field::TextureClass>(i), probabilities[i]);
    std::stable_sort(classes.begin(), classes.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    while (classes.size() > 1 && classes.back().second < 0.01) classes.pop_back();
    return classes;
}

void print_human(std::ostream& out, const field::JarReading& reading,
                 const std::optional<field::IlrDistribution>& found) {
    const std::size_t width = screen_width();
    const field::JarMarks marks = field::jar_marks(reading.water_height_cm, reading.temperature_c);
    const std::string water =
        fixed(reading.water_height_cm, 1) + " cm of water at " + fixed(reading.temperature_c, 1) + " degrees Celsius";
    std::vector<std::string> sources = settling_sources;
    if (found) {
        const auto classes = likely_classes(*found);
        const auto mean = field::from_ilr(found->mean);
        const auto errors = field::standard_errors(*found);
        out << field::name(classes.front().first) << " (" << field::code(classes.front().first) << ')'
            << (classes.front().second < 0.5 ? ", the likeliest of several classes" : "") << '\n';
        Rows rows;
        const auto part = [](double percent, double error) {
            return fixed(percent, 0) + " % (" + fixed(error, 0) + ")";
        };
        rows.emplace_back("fine earth", "sand " + part(mean.sand, errors.sand) + ", silt " +
                                            part(mean.silt, errors.silt) + ", clay " + part(mean.clay, errors.clay) +
                                            " by mass, in brackets standard errors");
        std::string list;
        for (const auto& [texture_class, probability] : classes)
            list += (list.empty() ? "" : ", ") + std::string(field::code(texture_class)) + ' ' + fixed(probability, 2);
        rows.emplace_back("classes", list + " (probabilities of 0.01 and more)");
        for (const Line& line : lines_of(reading)) rows.emplace_back(line.name + " line", told(line));
        print_pairs(out, rows, width);
        if (const std::string missing = missing_layer(reading); !missing.empty())
            out << wrapped(missing, 0, width) << '\n';
        out << wrapped("Thickness is not mass: settled clay holds far more water than sand. In " + water + '.', 0,
                       width)
            << '\n';
        sources.push_back(class_source);
    } else {
        out << "When to mark the lines in " << water << ", after the last shake\n";
        Rows rows;
        rows.emplace_back("sand", "after " + duration(marks.sand_s) + ", when all of 0.05 mm and above is down");
        rows.emplace_back("silt", "after " + duration(marks.silt_s) + ", when all of 0.002 mm and above is down");
        rows.emplace_back("clay", "when the water is clear; after days where no flocs form");
        print_pairs(out, rows, width);
        const bool own = reading.sand_read_after_s || reading.silt_read_after_s || reading.clay_read_after_s;
        out << (own ? "What lines at other times cut at\n" : "What the usual times cut at\n");
        rows.clear();
        for (const Line& line : lines_of(reading)) rows.emplace_back(line.name, told(line));
        print_pairs(out, rows, width);
        out << wrapped("Sand over 0.06 mm falls more slowly than Stokes' law says, but it is down within seconds.", 0,
                       width)
            << '\n';
    }
    print_sources(out, sources, width);
}

void print_answer(std::ostream& out, const field::JarReading& reading,
                  const std::optional<field::IlrDistribution>& found) {
    const field::JarMarks marks = field::jar_marks(reading.water_height_cm, reading.temperature_c);
    Json json;
    json["water_height_cm"] = reading.water_height_cm;
    json["temperature_c"] = reading.temperature_c;
    json["marks"] = {{"sand_s", marks.sand_s}, {"silt_s", marks.silt_s}};
    json["lines"] = Json::array();
    for (const Line& line : lines_of(reading))
        json["lines"].push_back({{"layer", line.name},
                                 {"after_s", line.time_s},
                                 {"usual", line.usual},
                                 {"cut_mm", line.cut_mm},
                                 {"stokes_holds", line.stokes}});
    std::vector<std::string> sources = settling_sources;
    if (found) {
        const auto mean = field::from_ilr(found->mean);
        json["grain_size"] = json_of(mean);
        json["standard_error"] = json_of(field::standard_errors(*found));
        json["ilr"] = json_of(*found);
        json["class"] = field::code(likely_classes(*found).front().first);
        const auto probabilities = field::class_probabilities(*found);
        for (std::size_t i = 0; i < probabilities.size(); ++i)
            json["classes"][std::string(field::code(static_cast<field::TextureClass>(i)))] = probabilities[i];
        json["remark"] = missing_layer(reading);
        sources.push_back(class_source);
    }
    json["sources"] = sources;
    print_json(out, json);
}

int jar(const JarOptions& options) {
    std::optional<field::IlrDistribution> found;
    if (has_layers(options.reading)) {
        const auto read = field::jar_grain_size(options.reading);
        if (!read) return refuse(read.message, read.remedy);
        found = read.value;
    }
    options.json ? print_answer(std::cout, options.reading, found) : print_human(std::cout, options.reading, found);
    return done;
}

void add_time(CLI::App& app, const std::string& name, std::optional<double>& time_s, const std::string& help) {
    app.add_option_function<std::string>(
           name,
           [&time_s, name](const std::string& text) {
               time_s = seconds(text);
               if (!time_s) throw CLI::ValidationError(name, "'" + text + "' is no time; write 40s, 1min or 2h.");
           },
           help)
        ->type_name("TIME");
}

}  // namespace

Command add_jar(CLI::App& parent) {
    auto options = std::make_shared<JarOptions>();
    field::JarReading& reading = options->reading;
    CLI::App* app =
        parent.add_subcommand("jar", "When to mark the lines of a jar test, and the grain size its layers tell");
    app->add_option("--height", reading.water_height_cm, "Height of the water in the jar in cm (default 15)")
        ->type_name("CM")
        ->check(CLI::Range(1.0, 200.0).description(""));
    app->add_option("--temperature", reading.temperature_c, "Of the water in degrees Celsius (default 20)")
        ->type_name("C")
        ->check(CLI::Range(0.0, 40.0).description(""));
    app->add_option("--sand", reading.sand_mm, "Thickness of the lowest layer in mm")->type_name("MM");
    app->add_option("--silt", reading.silt_mm, "Thickness of the middle layer in mm, from line to line")
        ->type_name("MM");
    app->add_option("--clay", reading.clay_mm, "Thickness of the uppermost layer in mm, from line to line")
        ->type_name("MM");
    add_time(*app, "--sand-read-after", reading.sand_read_after_s, "When the sand's line was drawn (default 1min)");
    add_time(*app, "--silt-read-after", reading.silt_read_after_s, "When the silt's line was drawn (default 2h)");
    add_time(*app, "--clay-read-after", reading.clay_read_after_s,
             "When the clay was read in cloudy water (default: the water was clear)");
    app->add_flag("--json", options->json, "Print the answer as JSON; its keys are listed below");
    app->footer(
        "Example: subcrop jar --height 15 --temperature 20\n"
        "         subcrop jar --sand 40 --silt 25 --clay 10 --silt-read-after 2h\n\n"
        "Exit codes: 0 done, 1 the layers cannot be read, 2 wrong usage.\n\n"
        "Keys of --json:\n"
        "  water_height_cm, temperature_c\n"
        "  marks           sand_s and silt_s: seconds until 0.05 mm and 0.002 mm are down\n"
        "  lines           for each line its layer, after_s, whether that is the usual time, cut_mm, stokes_holds\n"
        "  grain_size      sand, silt and clay in percent by mass, where layers are given; so are all below\n"
        "  standard_error  of each, in percent\n"
        "  ilr             mean and covariance: var(y1), cov(y1, y2), var(y2)\n"
        "  class, classes  the likeliest class; probability of each class\n"
        "  remark          which layer was not measured; empty where all were\n"
        "  sources         where the figures come from");
    return {app, [options] { return jar(*options); }};
}

}  // namespace subcrop::cli
