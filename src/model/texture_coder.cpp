#include "texture_coder.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <limits>
#include <span>

#include "note_words.hpp"
#include "subcrop/field/grain_size.hpp"
#include "subcrop/field/jar_test.hpp"

namespace subcrop::model {

namespace {

using field::GrainSize;
using field::IlrDistribution;
using field::TextureClass;

constexpr double absent = std::numeric_limits<double>::lowest();
constexpr double disagree_below = 0.01;

/// "65, 25, 10"; a dash where one is missing.
std::string numbers_text(std::span<const std::optional<double>> numbers) {
    std::string text;
    for (const auto& number : numbers) {
        std::array<char, 32> written{'-'};
        if (number) std::snprintf(written.data(), written.size(), "%g", *number);
        text += (text.empty() ? "" : ", ") + std::string(written.data());
    }
    return text;
}

/// Rounds values and errors to coarse steps, so that there are few distinct ones; each is computed once. Steps of 0.05
/// in value are small beside the smallest error, 0.15. Errors are right within a third.
constexpr double mean_step = 0.05;
constexpr std::array<double, 4> errors{0.15, 0.27, 0.5, 0.9};
constexpr double correlation_step = 0.45;

std::size_t nearest_error(double standard_error) {
    std::size_t level = 0;
    while (level + 1 < errors.size() && standard_error > std::sqrt(errors[level] * errors[level + 1])) ++level;
    return level;
}

IlrDistribution in_steps(const IlrDistribution& exact) {
    const auto& [c11, c12, c22] = exact.covariance;
    std::size_t first = nearest_error(std::sqrt(c11));
    std::size_t second = nearest_error(std::sqrt(c22));
    first = std::max(first, std::max<std::size_t>(second, 2) - 2);
    second = std::max(second, std::max<std::size_t>(first, 2) - 2);
    const double steps = std::clamp(std::round(c12 / std::sqrt(c11 * c22) / correlation_step), -1.0, 1.0);
    const double e1 = errors[first], e2 = errors[second];
    const auto whole = [](double y) { return mean_step * std::round(y / mean_step); };
    return {{whole(exact.mean[0]), whole(exact.mean[1])}, {e1 * e1, steps * correlation_step * e1 * e2, e2 * e2}};
}

/// One source of a horizon's grain size, as a message names it.
struct Source {
    std::string name;
    std::string check;  ///< what to look at where it disagrees
    const char* fields;
    std::string written;
    bool by_feel = false;
    bool plural = false;
    IlrDistribution distribution;
};

/// "18 % clay": the part in which the other source differs most.
std::string telling_part(const IlrDistribution& of, const IlrDistribution& other) {
    const GrainSize here = field::from_ilr(of.mean), there = field::from_ilr(other.mean);
    const double sand = std::abs(here.sand - there.sand), silt = std::abs(here.silt - there.silt),
                 clay = std::abs(here.clay - there.clay);
    std::array<char, 48> text{};
    if (clay >= sand && clay >= silt)
        std::snprintf(text.data(), text.size(), "%.0f %% clay", here.clay);
    else if (sand >= silt)
        std::snprintf(text.data(), text.size(), "%.0f %% sand", here.sand);
    else
        std::snprintf(text.data(), text.size(), "%.0f %% silt", here.silt);
    return text.data();
}

std::string said_of(const Source& source, const Source& other) {
    if (source.by_feel) return source.name;
    return source.name + " (" + telling_part(source.distribution, other.distribution) + ")";
}

Problem disagreement_note(const Source& first, const Source& second) {
    return {.severity = Severity::note,
            .source = {},
            .row = {},
            .field = first.fields,
            .value = first.written,
            .message =
                said_of(first, second) + (first.plural ? " do" : " does") + " not agree with " + said_of(second, first),
            .remedy = "Check " + first.check + " and " + second.check +
                      "; until one is corrected both are used, with a wider error.",
            .position = {}};
}

/// How many times wider the sources' scatter about their product is than their errors say (Birge's ratio, squared).
double misfit(std::span<const IlrDistribution> sources, const IlrDistribution& product) {
    double chi_square = 0;
    for (const IlrDistribution& source : sources) {
        const auto& [c11, c12, c22] = source.covariance;
        const double d1 = source.mean[0] - product.mean[0], d2 = source.mean[1] - product.mean[1];
        chi_square += (c22 * d1 * d1 - 2.0 * c12 * d1 * d2 + c11 * d2 * d2) / (c11 * c22 - c12 * c12);
    }
    return chi_square / (2.0 * static_cast<double>(sources.size() - 1));
}

}  // namespace

const Parsed<TextureCoder::Class>& TextureCoder::read_class(Text text) {
    auto [found, fresh] = classes_.try_emplace(text);
    if (fresh && !text.empty()) {
        auto parsed = field::parse_texture(names_.meant(field::NamedKind::texture, text.str()));
        found->second.message = std::move(parsed.message);
        found->second.remedy = std::move(parsed.remedy);
        if (!parsed.value) found->second.remedy += ' ' + std::string(own_words_remedy);
        if (parsed.value) found->second.value = parsed.value->texture_class;
    }
    return found->second;
}

TextureCoder::Distribution TextureCoder::read_fractions(const Horizon& horizon, std::optional<GrainSize>& measured,
                                                        Reading& reading) {
    const std::array<std::optional<double>, 3> parts{horizon.sand_pct, horizon.silt_pct, horizon.clay_pct};
    if (!parts[0] && !parts[1] && !parts[2]) return std::nullopt;
    const auto say = [&](Severity severity, std::string message, std::string remedy) {
        reading.problems.push_back({.severity = severity,
                                    .source = {},
                                    .row = {},
                                    .field = "sand_pct, silt_pct, clay_pct",
                                    .value = numbers_text(parts),
                                    .message = std::move(message),
                                    .remedy = std::move(remedy),
                                    .position = {}});
    };
    if (!parts[0] && !parts[1] && *parts[2] >= 0 && *parts[2] <= 100) {
        say(Severity::note, "clay stands alone; read as estimated by hand, with a standard error of 5 %",
            "Give sand or silt as well where they were measured.");
        auto [found, fresh] = clay_guesses_.try_emplace(*parts[2]);
        if (fresh) found->second = field::estimated_grain_size({.clay = *parts[2]});
        return found->second;
    }
    auto closed = field::close_grain_size(parts[0], parts[1], parts[2]);
    if (!closed.message.empty())
        say(closed ? Severity::note : Severity::warning, std::move(closed.message), std::move(closed.remedy));
    if (!closed.value) return std::nullopt;
    measured = closed.value;
    return field::measured_grain_size(*measured);
}

TextureCoder::Distribution TextureCoder::read_jar(const Horizon& horizon, Reading& reading) {
    const std::array<std::optional<double>, 3> layers{horizon.jar_sand_mm, horizon.jar_silt_mm, horizon.jar_clay_mm};
    if (!layers[0] && !layers[1] && !layers[2]) return std::nullopt;
    auto [found, fresh] =
        jars_.try_emplace({layers[0].value_or(absent), layers[1].value_or(absent), layers[2].value_or(absent)});
    if (fresh)
        found->second = field::jar_grain_size({.sand_mm = layers[0], .silt_mm = layers[1], .clay_mm = layers[2]});
    const auto& read = found->second;
    if (!read.message.empty())
        reading.problems.push_back({.severity = read ? Severity::note : Severity::warning,
                                    .source = {},
                                    .row = {},
                                    .field = "jar_sand_mm, jar_silt_mm, jar_clay_mm",
                                    .value = numbers_text(layers),
                                    .message = read.message,
                                    .remedy = read.remedy,
                                    .position = {}});
    return read.value;
}

std::int32_t TextureCoder::code_of(TextureClass texture_class, const IlrDistribution& distribution, bool measured) {
    const auto& [mean, covariance] = distribution;
    const auto [same, fresh] = codes_.try_emplace({static_cast<double>(texture_class), mean[0], mean[1], covariance[0],
                                                   covariance[1], covariance[2], measured ? 1.0 : 0.0},
                                                  static_cast<std::int32_t>(coded_.values.size()));
    if (fresh)
        coded_.values.push_back({std::string(field::code(texture_class)), texture_class, distribution, measured});
    return same->second;
}

TextureCoder::Reading TextureCoder::read(Class feel, const Horizon& horizon) {
    Reading reading;
    std::optional<GrainSize> measured;
    const Distribution fractions = read_fractions(horizon, measured, reading);
    const Distribution jar = read_jar(horizon, reading);

    std::vector<Source> sources;
    if (feel && !(measured && field::classify(*measured) == *feel))
        sources.push_back({"texture by feel " + std::string(field::code(*feel)), "the class by feel", "texture",
                           horizon.texture.str(), true, false, field::feel_distribution(*feel)});
    if (fractions)
        sources.push_back({measured ? "the measured fractions" : "the estimate by hand",
                           measured ? "the figures" : "the guess", "sand_pct, silt_pct, clay_pct",
                           numbers_text(std::array{horizon.sand_pct, horizon.silt_pct, horizon.clay_pct}), false,
                           measured.has_value(), *fractions});
    if (jar)
        sources.push_back({"the jar", "the jar's layers", "jar_sand_mm, jar_silt_mm, jar_clay_mm",
                           numbers_text(std::array{horizon.jar_sand_mm, horizon.jar_silt_mm, horizon.jar_clay_mm}),
                           false, false, *jar});
    if (sources.empty()) return reading;
    if (sources.size() == 1) {
        if (sources.front().by_feel) {
            reading.code = code_of(*feel, field::class_distribution(*feel), false);
            return reading;
        }
        IlrDistribution alone = in_steps(sources.front().distribution);
        // The error of measured fractions is one kind already.
        if (measured) alone.covariance = sources.front().distribution.covariance;
        const GrainSize size = measured ? *measured : field::from_ilr(sources.front().distribution.mean);
        reading.code = code_of(field::classify(size), alone, measured.has_value());
        return reading;
    }

    bool agree = true;
    for (std::size_t i = 0; i < sources.size(); ++i)
        for (std::size_t j = i + 1; j < sources.size(); ++j) {
            if (field::disagreement(sources[i].distribution, sources[j].distribution) >= disagree_below) continue;
            agree = false;
            reading.problems.push_back(disagreement_note(sources[i], sources[j]));
        }
    std::vector<IlrDistribution> distributions;
    for (const Source& source : sources) distributions.push_back(source.distribution);
    IlrDistribution all = field::combine(distributions);
    if (!agree)
        for (double& c : all.covariance) c *= std::max(1.0, misfit(distributions, all));
    reading.code = code_of(field::classify(field::from_ilr(all.mean)), in_steps(all), measured.has_value());
    return reading;
}

void TextureCoder::add(const Horizon& horizon, const std::string& source, const ColumnNames& names,
                       std::optional<Point> position) {
    const Parsed<Class>& feel = read_class(horizon.texture);
    const auto place = [&](Problem problem) {
        problem.source = source;
        problem.field = names.of(problem.field);
        problem.row = horizon.row;
        problem.position = position;
        problems_.add(std::move(problem));
    };
    if (!feel.message.empty())
        place({.severity = feel ? Severity::note : Severity::warning,
               .source = {},
               .row = {},
               .field = "texture",
               .value = horizon.texture.str(),
               .message = feel.message,
               .remedy = feel.remedy,
               .position = {}});
    const Class texture_class = feel.value ? *feel.value : Class{};
    const Notes notes{texture_class ? static_cast<double>(*texture_class) : absent,
                      horizon.sand_pct.value_or(absent),
                      horizon.silt_pct.value_or(absent),
                      horizon.clay_pct.value_or(absent),
                      horizon.jar_sand_mm.value_or(absent),
                      horizon.jar_silt_mm.value_or(absent),
                      horizon.jar_clay_mm.value_or(absent)};
    auto [found, fresh] = readings_.try_emplace(notes);
    if (fresh) found->second = read(texture_class, horizon);
    coded_.codes.push_back(found->second.code);
    for (Problem problem : found->second.problems) {
        if (problem.field == "texture") problem.value = horizon.texture.str();  // the reading may be another spelling's
        place(std::move(problem));
    }
}

}  // namespace subcrop::model
