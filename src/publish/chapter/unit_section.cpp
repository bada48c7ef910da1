#include "publish/chapter/unit_section.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>

#include "infer/description/unit_words.hpp"
#include "publish/chapter/profile_column.hpp"
#include "publish/chapter/texture_triangle.hpp"
#include "publish/map_colours.hpp"
#include "publish/quantity_words.hpp"
#include "subcrop/core/counted.hpp"

namespace subcrop::publish::chapter {

namespace {

using infer::about;
using infer::UnitSummary;

/// Known stops of a unit without which no note is tested.
constexpr std::size_t fewest_to_test = 3;
constexpr std::size_t max_photos_of_stop = 3;
constexpr int photo_pixels = 480;
constexpr double photo_width_mm = 70;  ///< two stand side by side on A4

std::string whole(double value) { return std::to_string(std::lround(value)); }
std::string decimal(double value, const char* format) {
    char text[32];
    std::snprintf(text, sizeof text, format, value);
    return text;
}

std::string capital(std::string words) {
    if (!words.empty()) words[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(words[0])));
    return words;
}

class Section {
public:
    Section(const JudgedSurvey& judged, model::UnitIndex unit, const std::vector<StopPhoto>& photos)
        : judged_(judged),
          photos_(photos),
          survey_(judged.data->survey),
          unit_(unit),
          u_(judged.units[static_cast<std::size_t>(unit)]),
          legend_(survey_.units[static_cast<std::size_t>(unit)]) {}

    std::vector<Block> write() {
        add(Heading{2, name(), unit_id(survey_, unit_)});
        what_it_is();
        where_it_lies();
        in_the_soil();
        depth_to_rock();
        told_from_neighbours();
        add(Heading{3, "How well its contacts are known"});
        const std::string contacts = infer::contact_words(u_.contacts);
        add(Paragraph{contacts.empty() ? "It has no contact with another unit on the map." : contacts});
        not_known();
        type_stops();
        return std::move(blocks_);
    }

private:
    template <class Part>
    void add(Part&& part) {
        blocks_.emplace_back(std::forward<Part>(part));
    }
    const std::string& code(model::UnitIndex unit) const { return survey_.units[static_cast<std::size_t>(unit)].code; }
    std::string name() const {
        return legend_.name.empty() || legend_.name == legend_.code ? legend_.code
                                                                    : legend_.name + " (" + legend_.code + ")";
    }

    void what_it_is() {
        std::string text;
        if (!legend_.lithology.empty()) {
            text = capital(legend_.lithology) + ". ";
        }
        if (legend_.cover) text += "A unit of surficial deposits, not of bedrock. ";
        text += (legend_.cover ? "It was observed in place at " : "Its bedrock was observed at ") +
                (u_.stops_rock_seen == 0 ? "no stop" : counted(u_.stops_rock_seen, "stop", "stops")) + ".";
        add(Paragraph{text});
    }

    void where_it_lies() {
        add(Heading{3, "Where it lies"});
        std::string text =
            std::string(u_.without_draft ? "On the first map it covers " : "As drawn it covers ") +
            infer::area_words(u_.area_m2) + ", " + decimal(100 * u_.area_share, "%.1f") + " % of the mapped area; " +
            (u_.stops == 0 ? "no stop stands on it." : counted(u_.stops, "stop stands", "stops stand") + " on it");
        if (u_.stops > 0 && !u_.without_draft)
            text += ": " + counted(u_.stops_agree, "agrees", "agree") + " with the draft, " +
                    (u_.stops_conflict == 0 ? "none conflicts" : counted(u_.stops_conflict, "conflicts", "conflict")) +
                    ".";
        else if (u_.stops > 0)
            text += ".";
        if (!u_.neighbours.empty()) {
            text += " It meets ";
            for (std::size_t i = 0; i < u_.neighbours.size(); ++i)
                text += (i == 0                          ? ""
                         : i + 1 == u_.neighbours.size() ? " and "
                                                         : ", ") +
                        code(u_.neighbours[i].unit) + " along " + infer::length_words(u_.neighbours[i].length_m);
            text += ".";
        }
        add(Paragraph{text});
    }

    void in_the_soil() {
        add(Heading{3, "How it shows in the soil"});
        if (u_.described_stops <= 0) {
            add(Paragraph{"No stop with notes lies on it, so that nothing can be said of its soil."});
            return;
        }
        add(Paragraph{infer::described_words(u_) +
                      (u_.profile.horizons.empty() ? "" : " Typical profile: " + u_.profile.text() + ".")});
        const Svg column = profile_column(u_.profile);
        if (column.height() > 0) {
            figure("profile", column,
                   "Typical profile of " + legend_.code + ": the commonest sequence of horizons (" +
                       infer::part_of(u_.profile.stops, u_.profile.described, "profile", "profiles") +
                       "), depths in cm. Each horizon reaches to the median top of the next and has the middle chip of "
                       "its moist colours. The lowest reaches to the end of the hole. Bars: quartiles of its top.");
        }
        std::vector<std::string> items;
        const auto item = [&](const char* what, const std::string& words) {
            if (!words.empty()) items.push_back(what + words);
        };
        item("Moist colour of the subsoil: ", full(infer::colour_words(u_.moist)));
        item("Dry colour of the subsoil: ", full(infer::colour_words(u_.dry)));
        infer::Tally textures = u_.texture.classes;
        for (infer::Counted& texture : textures.values) texture.name = texture_name(texture.name);
        item("Texture of the subsoil: ", full(infer::share_words(textures, "horizon", "horizons")));
        item("Coarse fragments in the subsoil: ", full(infer::fragment_words(u_.fragments)));
        item("Their kind: ", full(infer::share_words(u_.fragments.kinds, "horizon", "horizons")));
        item("", infer::reaction_words(u_.reaction));
        item("Minerals: ", full(u_.minerals.text()));
        item("Landform: ", full(infer::share_words(u_.landforms, "stop", "stops")));
        for (const auto& [evidence, words] : u_.evidence) items.push_back(capital(evidence) + ": " + words + ".");
        item("Parent material: ", full(infer::share_words(u_.parent_materials, "stop", "stops")));
        item("Indicating plants: ", full(u_.plants));
        if (!items.empty()) add(List{std::move(items)});
        triangle();
    }

    void triangle() {
        if (u_.textures_at.empty()) return;
        std::vector<std::pair<field::GrainSize, double>> horizons;
        double most = 0;
        for (const auto& [texture, count] : u_.textures_at) {
            horizons.emplace_back(field::from_ilr(judged_.data->reduced.texture.values[texture].distribution.mean),
                                  count);
            most = std::max(most, count);
        }
        std::string caption = "Grain size of the subsoil of " + legend_.code + ", percent of the fine earth by mass, " +
                              about(u_.texture.classes.total(), "horizon", "horizons") +
                              "; circle area is proportional to their number (largest: " + about(most) +
                              "). A class by feel stands at the middle of its region.";
        if (u_.texture.distribution) {
            const field::GrainSize mean = field::from_ilr(u_.texture.distribution->mean);
            caption += " Mean: sand " + whole(mean.sand) + " %, silt " + whole(mean.silt) + " %, clay " +
                       whole(mean.clay) + " %.";
        }
        figure("texture", texture_triangle(horizons, unit_colour(survey_, static_cast<std::size_t>(unit_))),
               std::move(caption));
    }

    void depth_to_rock() {
        add(Heading{3, "Depth to rock"});
        Table table;
        table.caption =
            "Depth to rock over " + legend_.code +
            ", cm. Holes that ended above rock count as deeper (Kaplan and Meier 1958). The interval is "
            "that of the median (Brookmeyer and Crowley 1982). Reached at: by holes that probably stand on it.";
        table.header = {"rock",       "holes that reached it", "holes that ended above it",
                        "median, cm", "90 % interval, cm",     "reached at, cm"};
        const auto row = [&](const char* what, const infer::DepthSummary& d) {
            if (d.reached + d.deeper < 0.5) return;
            const auto or_none = [](const std::optional<double>& value) {
                return value ? whole(*value) : std::string("too few reached it");
            };
            table.rows.push_back({what, about(d.reached), about(d.deeper), or_none(d.median_cm),
                                  d.low_cm ? d.high_cm ? whole(*d.low_cm) + " to " + whole(*d.high_cm)
                                                       : "from " + whole(*d.low_cm) + ", no upper limit"
                                           : "not given",
                                  d.min_cm ? std::lround(*d.min_cm) == std::lround(*d.max_cm)
                                                 ? whole(*d.min_cm)
                                                 : whole(*d.min_cm) + " to " + whole(*d.max_cm)
                                           : ""});
        };
        row("first rock, weathered or fresh", u_.rock);
        row("weathered rock (Cr)", u_.weathered_rock);
        row("fresh rock (R, or refusal)", u_.fresh_rock);
        if (table.rows.empty())
            add(Paragraph{"No depth was noted."});
        else
            add(std::move(table));
    }

    void told_from_neighbours() {
        add(Heading{3, "How to tell it from its neighbours"});
        Table table;
        table.caption = "The notes that tell " + legend_.code +
                        " from each neighbour best. Right at: known stops of both at which that note alone, learnt "
                        "elsewhere, favours the right one of the two.";
        table.header = {"from", "by", "right at", "likelihood ratio", "usual on " + legend_.code, "usual on the other"};
        const auto no_note = [](const infer::Neighbour& neighbour) { return neighbour.told_by.empty(); };
        const bool none = std::all_of(u_.neighbours.begin(), u_.neighbours.end(), no_note);
        for (const infer::Neighbour& neighbour : u_.neighbours) {
            if (neighbour.told_by.empty())
                table.rows.push_back({code(neighbour.unit), why_not_told(neighbour), "", "", "", ""});
            for (const infer::Difference& d : neighbour.told_by)
                table.rows.push_back({code(neighbour.unit), d.channel,
                                      std::to_string(d.right) + " of " + std::to_string(d.known),
                                      decimal(d.factor, "%.1f"), spelt(d.channel, d.here), spelt(d.channel, d.there)});
        }
        if (table.rows.empty())
            add(Paragraph{"It meets no other unit on the map."});
        else if (none && own_known() < fewest_to_test)
            add(Paragraph{"This was not tested: fewer than " + std::to_string(fewest_to_test) +
                          " stops are known to lie on " + legend_.code + "."});
        else
            add(std::move(table));
        const infer::Confusion& m = u_.mistaken;
        if (m.unit != model::no_unit) {
            add(Paragraph{"By soil alone it is most often taken for " + code(m.unit) + ": at " +
                          std::to_string(m.taken) + " of " + counted(m.known, "known stop", "known stops") + "."});
        } else if (m.known >= 5) {
            add(Paragraph{"Soil alone named it at all of " + counted(m.known, "known stop", "known stops") + "."});
        }
    }

    /// "SIL" is silt loam.
    static std::string spelt(const std::string& channel, const std::string& words) {
        if (!channel.ends_with(" texture")) return words;
        const std::size_t end = std::min(words.find(' '), words.size());
        return texture_name(words.substr(0, end)) + words.substr(end);
    }
    static std::string texture_name(const std::string& code) {
        const auto reading = field::parse_texture(code);
        return reading.value ? std::string(field::name(reading.value->texture_class)) : code;
    }
    std::string why_not_told(const infer::Neighbour& neighbour) const {
        for (const model::UnitIndex unit : {unit_, neighbour.unit})
            if (judged_.units[static_cast<std::size_t>(unit)].mistaken.known < fewest_to_test)
                return "not tested: fewer than " + std::to_string(fewest_to_test) + " stops are known to lie on " +
                       code(unit);
        return "no note tells them apart";
    }
    std::size_t own_known() const { return u_.mistaken.known; }

    void not_known() {
        add(Heading{3, "What is not known"});
        std::vector<std::string> items;
        if (u_.stops_rock_seen == 0)
            items.push_back(std::string(legend_.cover ? "It was observed in place at no stop."
                                                      : "Its bedrock was observed at no stop.") +
                            (u_.without_draft ? " Its place is known only from soil."
                                              : " Its place is known only from soil and draft."));
        if (own_known() < 5)
            items.push_back((own_known() == 0
                                 ? std::string("No stop is known to lie on it")
                                 : "Only " + counted(own_known(), "stop is", "stops are") + " known to lie on it") +
                            ". To tell how often its soil alone names it, 5 are needed.");
        if (u_.described_stops < 10)
            items.push_back("The description rests on " + about(u_.described_stops, "stop", "stops") +
                            "; with fewer than 10 its shares are rough.");
        if (u_.rock.reached + u_.rock.deeper < 0.5)
            items.push_back("No depth was noted, so that the depth to rock is not known.");
        else if (!u_.rock.median_cm)
            items.push_back("The median depth to rock is not known: " + about(u_.rock.reached, "hole", "holes") +
                            " reached rock and " + about(u_.rock.deeper) + " ended above it.");
        else if (!u_.rock.high_cm)
            items.push_back("The median depth to rock has no upper limit: too few holes went deep enough.");
        if (u_.contacts.untested > 0)
            items.push_back(u_.contacts.contacts == 1
                                ? std::string("Its only contact has too few stops nearby to test.")
                                : std::to_string(u_.contacts.untested) + " of its " +
                                      std::to_string(u_.contacts.contacts) + " contacts " +
                                      (u_.contacts.untested == 1 ? "has" : "have") + " too few stops nearby to test.");
        std::string missing;
        const auto miss = [&](bool noted, const char* what) {
            if (!noted) missing += (missing.empty() ? "" : ", ") + std::string(what);
        };
        miss(!u_.moist.chip.empty(), "moist colour of the subsoil");
        miss(!u_.dry.chip.empty(), "dry colour of the subsoil");
        miss(!u_.texture.classes.values.empty(), "texture of the subsoil");
        miss(u_.fragments.median_pct.has_value(), "coarse fragments");
        miss(!u_.reaction.values.empty(), "reaction to acid");
        miss(!u_.minerals.values.empty(), "minerals");
        miss(!u_.landforms.values.empty(), "landform");
        if (!missing.empty()) items.push_back("Not noted at any stop that lies on it: " + missing + ".");
        if (u_.plants.empty()) items.push_back("No plant was found to indicate it (false discovery rate 5 %).");
        if (items.empty()) items.push_back("Nothing that this chapter looks for is missing.");
        add(List{std::move(items)});
    }

    void type_stops() {
        if (u_.type_stops.empty()) return;
        add(Heading{3, "Type stops"});
        Table table;
        table.caption =
            "Stops that show " + legend_.code + " well: first those " +
            (legend_.cover ? "where it was observed in place" : "with its bedrock observed") +
            ", then those that lie on it with a probability of 80 % or more and have ordinary soil. Coordinates: " +
            survey_.crs_name + ", m.";
        table.header = {"stop", "east, m", "north, m", legend_.cover ? "observed in place" : "bedrock observed",
                        "probability"};
        for (const infer::TypeStop& type : u_.type_stops) {
            const model::Stop& stop = survey_.stops[type.stop];
            table.rows.push_back(
                {stop.id, whole(stop.position.x), whole(stop.position.y), type.bedrock_observed ? "yes" : "no",
                 type.probability >= 0.995 ? "over 99 %" : decimal(100 * type.probability, "%.0f") + " %"});
        }
        add(std::move(table));
        for (const infer::TypeStop& type : u_.type_stops) photographs(type.stop);
    }

    void photographs(std::size_t stop) {
        const auto [begin, end] =
            std::equal_range(photos_.begin(), photos_.end(), StopPhoto{stop, {}},
                             [](const StopPhoto& a, const StopPhoto& b) { return a.stop < b.stop; });
        const std::string& id = survey_.stops[stop].id;
        std::size_t shown = 0;
        for (auto photo = begin; photo != end && shown < max_photos_of_stop; ++photo) {
            std::string jpeg = io::thumbnail(photo->photo, photo_pixels);
            if (jpeg.empty()) continue;
            ++shown;
            add(Photograph{"photo" + unit_id(survey_, unit_).substr(4) + '-' + std::to_string(++photographs_),
                           std::move(jpeg), "Photograph " + photo->photo.name + " of stop " + id,
                           photo_caption(id, photo->photo), photo_width_mm});
        }
        const auto all = static_cast<std::size_t>(end - begin);
        if (shown == max_photos_of_stop && all > shown)
            add(Paragraph{"The folder of photographs has " + std::to_string(all - shown) + " more of stop " + id +
                          "."});
    }

    std::string photo_caption(const std::string& stop, const io::Photo& photo) const {
        std::string caption = "Stop " + stop + ", " + name();
        if (photo.direction_deg)
            caption +=
                ", looking " + std::string(towards(*photo.direction_deg)) + " (" + whole(*photo.direction_deg) + "°)";
        int year = 0, month = 0, day = 0;
        if (std::sscanf(photo.taken.c_str(), "%4d-%2d-%2d", &year, &month, &day) == 3 && month >= 1 && month <= 12 &&
            day >= 1 && day <= 31)
            caption += ", " + day_text(day, month, year);
        return caption + ".";
    }

    void figure(const char* what, const Svg& drawing, std::string caption) {
        const std::string id = unit_id(survey_, unit_);
        add(Figure{std::string(what) + id.substr(4), drawing.inline_markup(caption), caption, drawing.width(), false});
    }
    static std::string full(const std::string& words) { return words.empty() ? words : words + "."; }

    const JudgedSurvey& judged_;
    const std::vector<StopPhoto>& photos_;
    const model::Survey& survey_;
    model::UnitIndex unit_;
    const UnitSummary& u_;
    const model::LegendUnit& legend_;
    std::vector<Block> blocks_;
    int photographs_ = 0;
};

}  // namespace

std::string unit_id(const model::Survey& survey, model::UnitIndex unit) {
    const std::string& code = survey.units[static_cast<std::size_t>(unit)].code;
    const bool plain = !code.empty() && code.size() < 20 && std::all_of(code.begin(), code.end(), [](char c) {
        return std::isalnum(static_cast<unsigned char>(c)) != 0;
    });
    return "unit-" + (plain ? code : "number-" + std::to_string(unit + 1));
}

std::vector<Block> unit_section(const JudgedSurvey& judged, model::UnitIndex unit,
                                const std::vector<StopPhoto>& photos) {
    return Section(judged, unit, photos).write();
}

}  // namespace subcrop::publish::chapter
