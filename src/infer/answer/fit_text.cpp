// A Fit in words.
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>
#include <utility>

#include "infer/answer/reckoning.hpp"
#include "subcrop/field/parent_material.hpp"

namespace subcrop::infer {

namespace {

/// One channel's evidence for one unit against another, as natural log odds.
struct Part {
    std::size_t channel = 0;
    double log_odds = 0;
};

// Each sentence is built in one string. This saves 0.5 s of user CPU on a million stops.

/// Odds in words: "6 to 1".
void append_odds(std::string& text, double log_odds) {
    const double odds = std::exp(std::abs(log_odds));
    if (odds > 1000) {
        text += "over 1000 to 1";
        return;
    }
    std::array<char, 32> digits{};
    const auto written = std::to_chars(digits.data(), digits.data() + digits.size(), odds, std::chars_format::fixed,
                                       odds < 9.95 ? 1 : 0);
    text.append(digits.data(), written.ptr).append(" to 1");
}

/// "moist subsoil colour 5YR 4/6 (6.0 to 1)"; a long list is cut short.
void append_part(std::string& text, const Fit::Reckoning& r, std::size_t stop, const Part& part) {
    const Channel& channel = r.channels[part.channel];
    text.append(channel.name) += ' ';
    const std::size_t begin = text.size();
    channel.append_value_text(channel.value_of_stop[stop], text);
    constexpr std::size_t longest = 60;
    if (text.size() - begin > longest) {
        const std::size_t comma = text.rfind(", ", begin + longest);
        text.resize(comma == std::string::npos || comma < begin ? begin + longest : comma);
        text += " and more";
    }
    text += " (";
    append_odds(text, part.log_odds);
    text += ')';
}

/// By falling log odds; equal ones in the order of channels.
void sort_by_odds(std::vector<Part>& parts) {
    for (std::size_t i = 1; i < parts.size(); ++i)  // a dozen at most
        for (std::size_t k = i; k > 0 && parts[k].log_odds > parts[k - 1].log_odds; --k)
            std::swap(parts[k], parts[k - 1]);
}

/// "For KAR over TUF: moist subsoil colour 5YR 4/6 (6.0 to 1); against: ..."
void append_preference(std::string& text, const Fit::Reckoning& r, std::size_t stop, model::UnitIndex unit,
                       model::UnitIndex other, std::string_view outweighing) {
    std::vector<Part> parts;
    parts.reserve(r.channels.size());
    for (std::size_t c = 0; c < r.channels.size(); ++c) {
        if (!r.signatures[c].speaks(stop)) continue;
        const auto row = r.signatures[c].row(stop);
        parts.push_back({c, r.weight(c) * static_cast<double>(row[static_cast<std::size_t>(unit)] -
                                                              row[static_cast<std::size_t>(other)])});
    }
    sort_by_odds(parts);
    constexpr double worth_telling = 0.18;  // odds of 1.2 to 1
    std::size_t supporting = 0;
    while (supporting < std::min<std::size_t>(parts.size(), 3) && parts[supporting].log_odds >= worth_telling)
        ++supporting;
    const bool against = !parts.empty() && parts.back().log_odds < -worth_telling;

    const std::string& code = r.survey->units[static_cast<std::size_t>(unit)].code;
    const std::string& other_code = r.survey->units[static_cast<std::size_t>(other)].code;
    if (supporting == 0 && !against) {
        text.append("the soil hardly distinguishes ").append(code).append(" from ").append(other_code);
        return;
    }
    if (supporting == 0) {
        text.append("the soil supports ").append(other_code).append(" over ").append(code).append(" (");
        append_part(text, r, stop, parts.back());
        text.append(")").append(outweighing);
        return;
    }
    text.append("for ").append(code).append(" over ").append(other_code).append(": ");
    for (std::size_t i = 0; i < supporting; ++i) {
        if (i > 0) text += i + 1 == supporting ? " and " : ", ";
        append_part(text, r, stop, parts[i]);
    }
    if (!against) return;
    text += "; against: ";
    append_part(text, r, stop, parts.back());
}

/// Says how far the verdict comes from the stops around. Without this the evidence seems to contradict the verdict.
void append_surroundings(std::string& text, const StopFit& fit, const std::string& fitted, const std::string& mapped) {
    constexpr double plain = 0.02;  // log10 odds: 1.05 to 1
    const bool disputed = fit.p_disputed > 0.5;
    if (fit.soil_log10_odds > -plain) {
        if (disputed) text.append("; the stops around it support ").append(fitted).append(" too");
        return;
    }
    text.append("; all together: ");
    append_odds(text, fit.soil_log10_odds * std::log(10.0));
    text.append(" for ").append(mapped);
    if (disputed)
        text.append(", but the stops around it support ").append(fitted);
    else
        text.append(", but it probably lies beyond the contact, in ").append(fitted);
}

/// Transported soil: water, ice, wind or a slide brought it, so it tells little about the bedrock. Creep is different:
/// it moves the soil of the unit upslope a few metres.
void append_transported(std::string& text, const Fit::Reckoning& r, std::size_t stop, model::UnitIndex fitted) {
    text += "The soil is probably transported";
    // The noted parent material may be residuum, even if soil was brought onto it.
    if (const field::ParentMaterial material = r.reduced->parent_material[stop];
        material != field::ParentMaterial::residuum) {
        const std::string because = field::parent_material_reason(
            model::parent_material_cues(*r.survey, *r.reduced, stop), r.survey->parent_material);
        text.append(" (").append(field::to_string(material)).append(because.empty() ? "" : ": ").append(because) += ')';
    }
    if (r.cover(fitted))
        text.append(", as over ").append(r.survey->units[static_cast<std::size_t>(fitted)].code).append(". ");
    else
        text += ", so it says little about the bedrock. ";
}

/// Creep from the unit upslope, and its effect on the odds of that unit against the mapped one. If the verdict
/// contradicts the draft, it says what creep does not explain.
void append_creep(std::string& text, const Fit::Reckoning& r, std::size_t stop, const StopFit& fit) {
    const auto code = [&](model::UnitIndex unit) -> const std::string& {
        return r.survey->units[static_cast<std::size_t>(unit)].code;
    };
    text.append("Creep: about ").append(std::to_string(std::lround(100 * fit.upslope_share)));
    text.append(" % of this soil should come from ").append(code(fit.upslope_unit)).append(", drawn ");
    text.append(std::to_string(std::lround(fit.upslope_m))).append(" m upslope. ");
    std::vector<double> likelihood(r.units());
    const auto odds = [&] {
        return likelihood[static_cast<std::size_t>(fit.upslope_unit)] -
               likelihood[static_cast<std::size_t>(fit.mapped_unit)];
    };
    r.soil(stop, likelihood);
    const double without = odds();
    r.soil_below(stop, likelihood);
    const double with = odds();
    const bool left = with > 0.05;  // 1.05 to 1
    const std::string over = code(fit.upslope_unit) + " over " + code(fit.mapped_unit);
    text.append(left ? "That lowers the odds for " : "So the soil does not support ").append(over);
    text += left ? " from " : " (without creep ";
    append_odds(text, without);
    if (left) {
        text += " to ";
        append_odds(text, with);
    } else {
        text += ')';
    }
    if (fit.verdict == Verdict::conflicts) {
        if (fit.fitted_unit == fit.upslope_unit)
            text += left ? ", which still contradicts the draft" : "; what else is known contradicts the draft";
        else
            text.append("; it does not explain ").append(code(fit.fitted_unit));
    }
    text += ". ";
}

std::string sentence(std::string text) {
    if (text.ends_with("; ")) text.resize(text.size() - 2);
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z')
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    if (!text.empty() && text.back() != '.') text += '.';
    return text;
}

}  // namespace

std::string_view to_string(Verdict verdict) {
    static constexpr std::array<std::string_view, verdict_count> codes{"agrees",      "conflicts",       "near_contact",
                                                                       "undecided",   "unlike_any_unit", "transported",
                                                                       "no_evidence", "off_map",         "fits"};
    return codes[static_cast<std::size_t>(verdict)];
}

std::string_view description(Verdict verdict) {
    static constexpr std::array<std::string_view, verdict_count> sentences{
        "Soil and draft support the same unit",
        "The draft is probably wrong here",
        "The position error spans the contact: either side is possible",
        "The evidence does not decide",
        "The soil is unlike the soil of every unit in the legend",
        "The soil is probably transported and says little about the bedrock",
        "No note here distinguishes the units",
        "Outside every polygon of the draft",
        "There is no draft; soil and nearby observed bedrock support one unit"};
    return sentences[static_cast<std::size_t>(verdict)];
}

std::string_view to_string(Review review) {
    static constexpr std::array<std::string_view, 4> codes{"supported", "shift", "doubtful", "untested"};
    return codes[static_cast<std::size_t>(review)];
}

std::string_view description(Review review) {
    static constexpr std::array<std::string_view, 4> sentences{
        "The stops beside it fit the unit on their own side", "It is misplaced, and the stops say where it should be",
        "The stops beside it fit the other side better, or disagree",
        "Not enough stops nearby, or their evidence is too weak"};
    return sentences[static_cast<std::size_t>(review)];
}

std::string Fit::reason(std::size_t stop) const {
    const Reckoning& r = *reckoning;
    const StopFit& fit = stops[stop];
    const model::Stop& noted = r.survey->stops[stop];
    auto code = [&](model::UnitIndex unit) -> const std::string& {
        return r.survey->units[static_cast<std::size_t>(unit)].code;
    };

    if (fit.verdict == Verdict::no_evidence) return "Nothing was noted here that tells units apart.";
    if (fit.fitted_unit == model::no_unit)
        return without_draft ? "Neither soil nor observed bedrock says anything here."
                             : "Neither soil nor draft says anything here.";
    std::string before, text;
    if (fit.verdict == Verdict::off_map) text = "outside the draft; ";
    if (fit.verdict == Verdict::unlike_any_unit)
        text = "unlike the soil of every unit, nearest to " + code(fit.fitted_unit) + "; ";
    if (fit.p_transported > 0.5) append_transported(before, r, stop, fit.fitted_unit);
    if (crept(stop)) append_creep(before, r, stop, fit);
    if (noted.unit_seen != model::no_unit) text += code(noted.unit_seen) + " bedrock was observed here; ";
    const bool questions_draft = fit.mapped_unit != model::no_unit && fit.mapped_unit != fit.fitted_unit;
    const model::UnitIndex other = questions_draft ? fit.mapped_unit : fit.next_unit;
    const std::string_view outweighing = questions_draft ? ""
                                         : without_draft ? ", but the observed bedrock around outweighs it"
                                                         : ", but the draft outweighs it";
    if (other != model::no_unit) append_preference(text, r, stop, fit.fitted_unit, other, outweighing);
    if (questions_draft && r.has_evidence(stop))
        append_surroundings(text, fit, code(fit.fitted_unit), code(fit.mapped_unit));
    return before + sentence(std::move(text));
}

bool Fit::crept(std::size_t stop) const {
    const StopFit& fit = stops[stop];
    if (fit.upslope_unit == model::no_unit || fit.mapped_unit == model::no_unit) return false;
    std::vector<double> soil(reckoning->units()), below(reckoning->units());
    reckoning->soil(stop, soil);
    reckoning->soil_below(stop, below);
    const auto mapped = static_cast<std::size_t>(fit.mapped_unit), upslope = static_cast<std::size_t>(fit.upslope_unit);
    const double against = soil[upslope] - soil[mapped], explained = below[mapped] - soil[mapped];
    return against > std::log(2.0) && explained > 0.3 * against;
}

std::vector<EvidenceRow> Fit::evidence(std::size_t stop, model::EvidenceRows rows) const {
    const Reckoning& r = *reckoning;
    const StopFit& fit = stops[stop];
    std::vector<model::UnitIndex> units;
    if (rows == model::EvidenceRows::all) {
        for (std::size_t u = 0; u < r.units(); ++u) units.push_back(static_cast<model::UnitIndex>(u));
    } else if (rows != model::EvidenceRows::none) {
        for (const model::UnitIndex unit : {fit.mapped_unit, fit.fitted_unit, fit.next_unit}) {
            if (unit != model::no_unit && std::find(units.begin(), units.end(), unit) == units.end())
                units.push_back(unit);
        }
    }
    std::vector<EvidenceRow> result;
    std::vector<double> rock(r.units(), 0.0);
    r.add_rock_seen(stop, rock);
    std::vector<double> crept_soil(r.units(), 0.0), below(r.units(), 0.0);
    const bool creeps = !r.origins.of(stop).empty() && r.has_evidence(stop);
    if (creeps) {
        r.soil(stop, crept_soil);
        r.soil_below(stop, below);
    }
    for (const model::UnitIndex unit : units) {
        if (r.survey->stops[stop].unit_seen != model::no_unit) {
            result.push_back({unit, "observed bedrock", rock[static_cast<std::size_t>(unit)], 1.0});
        }
        for (std::size_t c = 0; c < r.channels.size(); ++c) {
            if (!r.signatures[c].speaks(stop)) continue;
            result.push_back({unit, r.channels[c].name,
                              static_cast<double>(r.signatures[c].row(stop)[static_cast<std::size_t>(unit)]),
                              r.weight(c)});
        }
        if (creeps) {
            const auto u = static_cast<std::size_t>(unit);
            result.push_back({unit, "soil from upslope", below[u] - crept_soil[u], 1.0});
        }
    }
    return result;
}

}  // namespace subcrop::infer
