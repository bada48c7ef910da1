// The same survey written in another order, under other names, cut otherwise or in other units.
#include <gmock/gmock.h>

#include <algorithm>
#include <cstdio>
#include <random>

#include "properties/invented_valley.hpp"

namespace subcrop::properties {
namespace {

/// Sums of floating-point numbers in another order differ in their last digits; probabilities are stored as float.
constexpr double other_order = 1e-4;

const Valley& valley() {
    static const Valley made;
    return made;
}

const Judgement& as_written() {
    static const Judgement judged = judge(valley(), {});
    return judged;
}

/// What would make the others hold for want of anything to differ in.
TEST(SurveyWriting, TheValleyHasVerdictsToChange) {
    std::map<std::string, int> verdicts;
    for (const auto& [id, stop] : as_written().stops) ++verdicts[stop.verdict];
    EXPECT_GT(verdicts["agrees"], 80);
    EXPECT_GE(verdicts["conflicts"], 3);
    EXPECT_GE(verdicts["undecided"], 3);
    EXPECT_EQ(as_written().stops.size(), 184U);
    EXPECT_EQ(as_written().contacts.size(), 3U);
}

TEST(SurveyWriting, OrderOfRowsChangesNothing) {
    Valley other = valley();
    std::mt19937_64 random(5);
    const auto shuffle = [&random](auto& rows) {
        for (std::size_t i = rows.size(); i > 1; --i) std::swap(rows[i - 1], rows[random() % i]);
    };
    shuffle(other.stops);
    shuffle(other.horizons);
    shuffle(other.map);
    expect_same(as_written(), judge(other, {}), other_order);
    std::reverse(other.units.begin(), other.units.end());
    expect_same(as_written(), judge(other, {.threads = 3}), other_order);
}

TEST(SurveyWriting, WhereARingBeginsAndHowItTurnsChangesNothing) {
    Valley other = valley();
    int turn = 0;
    for (Valley::Ground& ground : other.map) {
        for (Polygon& part : ground.parts) {
            Ring& shell = part.shell;
            shell.pop_back();
            std::rotate(shell.begin(), shell.begin() + 7, shell.end());
            shell.push_back(shell.front());
            if (turn++ % 2 == 0) std::reverse(shell.begin(), shell.end());
            for (Ring& hole : part.holes) std::reverse(hole.begin(), hole.end());
        }
    }
    expect_same(as_written(), judge(other, {}), other_order);
}

TEST(SurveyWriting, NamesOfUnitsChangeNothingButThemselves) {
    // The order of the alphabet is turned round.
    const std::map<std::string, std::string> names{{"SND", "b 7"}, {"MUD", "Qm/\xC3\xA9"}, {"LIM", "Zz"}, {"GRA", "1"}};
    Valley other = valley();
    for (auto& unit : other.units) unit = names.at(unit);
    for (auto& ground : other.map) ground.unit = names.at(ground.unit);
    for (auto& stop : other.stops) stop.unit_seen = stop.unit_seen.empty() ? "" : names.at(stop.unit_seen);
    for (const bool legend : {true, false}) {
        const Judgement judged = judge(other, {.legend = legend});
        Judgement back = judged;
        std::map<std::string, std::string> old;
        for (const auto& [from, to] : names) old[to] = from;
        for (auto& [id, stop] : back.stops) {
            stop.mapped = old.at(stop.mapped);
            stop.fitted = old.at(stop.fitted);
        }
        back.contacts.clear();
        for (const auto& [pair, contacts] : judged.contacts) {
            back.contacts[std::minmax({old.at(pair.first), old.at(pair.second)})] = contacts;
        }
        expect_same(as_written(), back, other_order);
    }
}

/// The ground of a polygon without holes south of y and north of it; its sides cross y twice, at vertices made there.
std::vector<Polygon> cut(const Polygon& polygon, double y) {
    std::vector<Polygon> parts(2);
    const Ring& ring = polygon.shell;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const Point a = ring[i], b = ring[i + 1];
        if (a.y <= y) parts[0].shell.push_back(a);
        if (a.y >= y) parts[1].shell.push_back(a);
        if ((a.y < y) == (b.y < y) || a.y == y || b.y == y) continue;
        const double share = (y - a.y) / (b.y - a.y);
        const Point at{a.x + share * (b.x - a.x), y};
        for (Polygon& part : parts) part.shell.push_back(at);
    }
    for (Polygon& part : parts) part.shell.push_back(part.shell.front());
    return parts;
}

TEST(SurveyWriting, APolygonInTwoPiecesIsTheSameGround) {
    // Once as two parts of a row, cut at a vertex of the contact; once as two rows, cut where the other side has no
    // vertex.
    for (const double y : {100.0, 87.0}) {
        Valley other = valley();
        const std::vector<Polygon> parts = cut(other.map[0].parts[0], y);
        other.map[0].parts = {parts[0]};
        if (y == 100)
            other.map[0].parts.push_back(parts[1]);
        else
            other.map.push_back({"SND", {parts[1]}});
        const Judgement judged = judge(other, {});
        expect_same(as_written(), judged, other_order);
        EXPECT_EQ(judged.problems, as_written().problems) << y;
    }
}

std::string in(double cm, double unit_cm, const char* unit) {
    char text[40];
    std::snprintf(text, sizeof text, "%.10f%s", cm / unit_cm, unit);
    return text;
}

TEST(SurveyWriting, UnitsOfDepthChangeNothing) {
    const std::pair<const char*, double> units[] = {
        {" cm", 1}, {" mm", 0.1}, {" in", 2.54}, {" ft", 30.48}, {" m", 100}};
    int cell = 0;
    const auto in_turn = [&](double cm) {
        const auto& [unit, size] = units[cell++ % 5];
        return in(cm, size, unit);
    };
    expect_same(as_written(), judge(valley(), {.depth = in_turn}), other_order);
}

TEST(SurveyWriting, UnitsOfHeightsChangeNothing) {
    const std::string creep = R"({"evidence": "none", "block_m": 394, "next_stops": 0, "creep": {"length_m": 60}})";
    const Judgement metres =
        judge(valley(), {.settings = creep, .height_factor = 1, .raster_unit = "m", .stated_unit = ""});
    EXPECT_GT(metres.creep_m, 0);
    EXPECT_FALSE(differing(as_written(), metres).empty());  // the terrain counts
    const double foot = 0.3048, survey_foot = 1200.0 / 3937;
    const Judgement others[] = {
        judge(valley(), {.settings = creep, .height_factor = 1 / foot, .raster_unit = "ft", .stated_unit = ""}),
        judge(valley(),
              {.settings = creep, .height_factor = 1 / survey_foot, .raster_unit = "", .stated_unit = "us-ft"}),
    };
    for (const Judgement& other : others) {
        expect_same(metres, other, other_order);
        EXPECT_NEAR(metres.creep_m, other.creep_m, 1e-3 * metres.creep_m);
        for (const auto& [id, stop] : metres.stops) EXPECT_EQ(stop.landform, other.stops.at(id).landform) << id;
    }
}

}  // namespace
}  // namespace subcrop::properties
