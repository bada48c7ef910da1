#include "publish/loop/run_changes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <string_view>
#include <tuple>

#include "io/run_clock.hpp"
#include "publish/quantity_words.hpp"
#include "subcrop/core/counted.hpp"

namespace subcrop::publish {

namespace {

constexpr double min_width_change = 0.2;  ///< of the half-width before
constexpr double min_move_m = 1;
/// A contact is the same if its middle is within this share of its length from the old middle.
constexpr double same_contact_share = 0.25;

std::string phrase_of_verdict(const std::string& code) {
    static constexpr std::array<std::pair<std::string_view, std::string_view>, 9> phrases{
        {{"agrees", "agrees with the draft"},
         {"conflicts", "conflicts with the draft"},
         {"near_contact", "near a contact"},
         {"undecided", "undecided"},
         {"unlike_any_unit", "unlike any unit"},
         {"transported", "transported soil"},
         {"no_evidence", "no evidence"},
         {"off_map", "off the map"},
         {"fits", "fits one unit"}}};
    for (const auto& [known, phrase] : phrases)
        if (known == code) return std::string(phrase);
    return code;
}

std::string phrase_of_review(const std::string& code) {
    if (code == "shift") return "misplaced";
    if (code == "doubtful") return "in doubt";
    return code;
}

std::string fixed(double value, int decimals) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
    return text.data();
}

std::string metres(double m) { return std::to_string(std::llround(m)); }
std::string half_width(double m) { return "± " + metres(m) + " m"; }
std::string place_words(Point p) { return metres(p.x) + " east, " + metres(p.y) + " north"; }

/// "28 November 2026", with the time if the other run was on the same day.
std::string day_words(std::time_t date, std::time_t other) {
    std::tm day{};
    gmtime_r(&date, &day);
    const std::string words = day_text(day.tm_mday, day.tm_mon + 1, day.tm_year + 1900);
    const char* iso_day = "%Y-%m-%d";
    return io::utc_text(date, iso_day) == io::utc_text(other, iso_day) ? words + ", " + io::utc_text(date, "%H:%M UTC")
                                                                       : words;
}

/// The parts of a list with commas.
class Words {
public:
    void add(std::string words) {
        if (words.empty()) return;
        if (!text_.empty()) text_ += ", ";
        text_ += words;
    }
    /// Begins another list, after a semicolon.
    void add_list(const std::string& words) {
        if (words.empty()) return;
        if (!text_.empty()) text_ += "; ";
        text_ += words;
    }
    const std::string& text() const { return text_; }

private:
    std::string text_;
};

template <class Record>
using Pairs = std::vector<std::pair<const Record*, const Record*>>;  ///< before and now; null if there is none

/// Several stops of one name are paired by their places first, then in their order.
Pairs<StopRecord> paired(const std::vector<StopRecord>& before, const std::vector<StopRecord>& now) {
    std::map<std::string_view, std::vector<const StopRecord*>> by_id;
    for (const StopRecord& stop : before) by_id[stop.id].push_back(&stop);
    Pairs<StopRecord> pairs;
    const auto take = [&](const StopRecord& stop, bool same_place) -> const StopRecord* {
        const auto found = by_id.find(stop.id);
        if (found == by_id.end()) return nullptr;
        auto& left = found->second;
        const auto of = std::find_if(left.begin(), left.end(), [&](const StopRecord* old) {
            return !same_place || distance(old->place, stop.place) < min_move_m;
        });
        if (of == left.end()) return nullptr;
        const StopRecord* old = *of;
        left.erase(of);
        return old;
    };
    for (const StopRecord& stop : now) pairs.emplace_back(take(stop, true), &stop);
    for (auto& [old, stop] : pairs)
        if (old == nullptr) old = take(*stop, false);
    for (const StopRecord& stop : before) {
        const auto& left = by_id[stop.id];
        if (std::find(left.begin(), left.end(), &stop) != left.end()) pairs.emplace_back(&stop, nullptr);
    }
    return pairs;
}

/// The nearest first among those of the same units.
Pairs<ContactRecord> paired(const std::vector<ContactRecord>& before, const std::vector<ContactRecord>& now) {
    std::map<std::pair<std::string, std::string>, std::vector<std::size_t>> by_units;
    const auto units = [](const ContactRecord& c) { return std::minmax(c.unit_a, c.unit_b); };
    for (std::size_t i = 0; i < before.size(); ++i) by_units[units(before[i])].push_back(i);
    std::vector<std::tuple<double, std::size_t, std::size_t>> near;
    for (std::size_t j = 0; j < now.size(); ++j) {
        const auto found = by_units.find(units(now[j]));
        if (found == by_units.end()) continue;
        for (const std::size_t i : found->second) {
            const double away = distance(before[i].middle, now[j].middle);
            if (away <= same_contact_share * std::max(before[i].length_m, now[j].length_m))
                near.emplace_back(away, j, i);
        }
    }
    std::sort(near.begin(), near.end());
    std::vector<const ContactRecord*> old_of(now.size(), nullptr);
    std::vector<bool> taken(before.size(), false);
    for (const auto& [away, j, i] : near) {
        if (old_of[j] != nullptr || taken[i]) continue;
        old_of[j] = &before[i];
        taken[i] = true;
    }
    Pairs<ContactRecord> pairs;
    for (std::size_t j = 0; j < now.size(); ++j) pairs.emplace_back(old_of[j], &now[j]);
    for (std::size_t i = 0; i < before.size(); ++i)
        if (!taken[i]) pairs.emplace_back(&before[i], nullptr);
    return pairs;
}

std::string name_of(const ContactRecord& contact) {
    return contact.unit_a + " | " + contact.unit_b + " no. " + std::to_string(contact.number);
}

/// Collects the rows kind by kind, and their part of the headline.
class Comparison {
public:
    Comparison(const RunRecord& before, const RunRecord& now)
        : before_(before), now_(now), same_crs_(before.crs == now.crs) {}

    RunChanges result() {
        Words said;
        if (before_.stops.size() == before_.stop_count && now_.stops.size() == now_.stop_count) {
            compare_stops(said);
        } else {
            compare_counts(said);
        }
        if (same_crs_) compare_contacts(said);
        if (said.text().empty()) {
            said.add("the same stops with the same verdicts, and no contact located better or worse by 20 % or more");
        }
        if (!same_crs_) said.add_list("the working projection is another, so places and contacts are not compared");
        if (before_.version != now_.version) said.add_list("that run was of subcrop " + before_.version);
        RunChanges changes;
        changes.since = day_words(before_.date, now_.date);
        changes.headline = "Since " + changes.since + ": " + said.text();
        for (std::vector<Change>& kind : rows_) {
            changes.rows.insert(changes.rows.end(), std::make_move_iterator(kind.begin()),
                                std::make_move_iterator(kind.end()));
        }
        return changes;
    }

private:
    std::vector<Change>& rows(ChangeKind kind) { return rows_[static_cast<std::size_t>(kind)]; }
    void add(Change change) { rows(change.kind).push_back(std::move(change)); }
    std::optional<Point> old_place(Point place) const { return same_crs_ ? std::optional(place) : std::nullopt; }

    void compare_stops(Words& said) {
        std::size_t resolved = 0, new_conflicts = 0, others = 0;
        std::vector<Change> conflicts_first, other_verdicts;
        for (const auto& [old, stop] : paired(before_.stops, now_.stops)) {
            if (stop == nullptr) {
                add({.kind = ChangeKind::stop_gone,
                     .what = old->id,
                     .before = old->verdict,
                     .sentence = "Stop " + old->id + " is gone. It was: " + phrase_of_verdict(old->verdict) + '.',
                     .place = old_place(old->place)});
                continue;
            }
            const bool conflict = stop->verdict == "conflicts";
            if (old == nullptr) {
                new_conflicts += conflict;
                add({.kind = ChangeKind::stop_added,
                     .what = stop->id,
                     .after = stop->verdict,
                     .sentence = "Stop " + stop->id + " is new: " + phrase_of_verdict(stop->verdict) + '.',
                     .place = stop->place});
                continue;
            }
            if (const double by = distance(old->place, stop->place); same_crs_ && by >= min_move_m) {
                add({.kind = ChangeKind::stop_moved,
                     .what = stop->id,
                     .before = place_words(old->place),
                     .after = place_words(stop->place),
                     .sentence = "The place of stop " + stop->id + " differs by " + metres(by) + " m.",
                     .place = stop->place});
            }
            if (old->verdict == stop->verdict) continue;
            const bool was_conflict = old->verdict == "conflicts";
            resolved += was_conflict;
            new_conflicts += conflict;
            others += !conflict && !was_conflict;
            (conflict || was_conflict ? conflicts_first : other_verdicts)
                .push_back({.kind = ChangeKind::verdict_changed,
                            .what = stop->id,
                            .before = old->verdict,
                            .after = stop->verdict,
                            .sentence = verdict_sentence(*old, *stop),
                            .place = stop->place});
        }
        for (auto* changes : {&conflicts_first, &other_verdicts})
            for (Change& change : *changes) add(std::move(change));
        const auto count = [&](ChangeKind kind, const char* word) {
            const std::size_t n = rows(kind).size();
            said.add(n == 0 ? std::string() : counted(n, "stop ", "stops ") + word);
        };
        count(ChangeKind::stop_added, "more");
        count(ChangeKind::stop_gone, "gone");
        count(ChangeKind::stop_moved, "at another place");
        if (resolved > 0) said.add(counted(resolved, "conflict", "conflicts") + " resolved");
        if (new_conflicts > 0)
            said.add(resolved > 0 ? std::to_string(new_conflicts) + " new"
                                  : counted(new_conflicts, "new conflict", "new conflicts"));
        if (others > 0) said.add(counted(others, "other verdict", "other verdicts") + " changed");
    }

    static std::string verdict_sentence(const StopRecord& old, const StopRecord& stop) {
        std::string text = "Stop " + stop.id + ": " + phrase_of_verdict(stop.verdict) +
                           "; was: " + phrase_of_verdict(old.verdict) + '.';
        if (!old.p_mapped || !stop.p_mapped) return text;
        const std::string was = fixed(*old.p_mapped, 2), is = fixed(*stop.p_mapped, 2);
        return was == is ? text : text + " Probability of the mapped unit: " + is + ", was " + was + '.';
    }

    void compare_counts(Words& said) const {
        if (now_.stop_count > before_.stop_count)
            said.add(counted(now_.stop_count - before_.stop_count, "stop", "stops") + " more");
        if (now_.stop_count < before_.stop_count)
            said.add(counted(before_.stop_count - now_.stop_count, "stop", "stops") + " fewer");
        const std::map<std::string, std::size_t> old(before_.verdicts.begin(), before_.verdicts.end());
        for (const auto& [verdict, count] : now_.verdicts) {
            const auto found = old.find(verdict);
            const std::size_t was = found == old.end() ? 0 : found->second;
            if (was != count)
                said.add_list(phrase_of_verdict(verdict) + ": " + counted(count, "stop", "stops") + ", was " +
                              std::to_string(was));
        }
    }

    void compare_contacts(Words& said) {
        const bool known =
            before_.contacts.size() == before_.contact_count && now_.contacts.size() == now_.contact_count;
        if (!known) return;
        const bool first_map = before_.without_draft || now_.without_draft;  // drawn anew each time
        struct Width {
            double change;  ///< ln of the ratio
            const ContactRecord *old, *contact;
        };
        std::vector<Width> widths;
        for (const auto& [old, contact] : paired(before_.contacts, now_.contacts)) {
            if (old == nullptr || contact == nullptr) {
                if (!first_map) contact_alone(old, contact);
                continue;
            }
            if (old->half_width_m > 0 && contact->half_width_m > 0 &&
                std::abs(contact->half_width_m - old->half_width_m) >= min_width_change * old->half_width_m &&
                metres(contact->half_width_m) != metres(old->half_width_m))
                widths.push_back({std::log(contact->half_width_m / old->half_width_m), old, contact});
            if (old->review != contact->review) {
                add({.kind = ChangeKind::contact_verdict,
                     .what = name_of(*contact),
                     .before = old->review,
                     .after = contact->review,
                     .sentence = "Contact " + name_of(*contact) + ": " + phrase_of_review(contact->review) + ", was " +
                                 phrase_of_review(old->review) + '.',
                     .place = contact->middle});
            }
        }
        std::stable_sort(widths.begin(), widths.end(),
                         [](const Width& a, const Width& b) { return std::abs(a.change) > std::abs(b.change); });
        std::size_t better = 0, worse = 0;
        for (const Width& width : widths) {
            const std::string words = name_of(*width.contact) + " now located to " +
                                      half_width(width.contact->half_width_m) + " (90 %), was " +
                                      half_width(width.old->half_width_m);
            if (&width == &widths.front())
                said.add_list("contact " + words);
            else
                ++(width.change < 0 ? better : worse);
            add({.kind = ChangeKind::contact_located,
                 .what = name_of(*width.contact),
                 .before = half_width(width.old->half_width_m),
                 .after = half_width(width.contact->half_width_m),
                 .sentence = "Contact " + words + '.',
                 .place = width.contact->middle});
        }
        if (better > 0) said.add(counted(better, "more contact", "more contacts") + " located better");
        if (worse > 0) said.add(counted(worse, "more contact", "more contacts") + " located worse");
        const std::vector<Change>& verdicts = rows(ChangeKind::contact_verdict);
        if (verdicts.size() == 1) {
            said.add_list("contact " + verdicts.front().what + " now " + phrase_of_review(verdicts.front().after) +
                          ", was " + phrase_of_review(verdicts.front().before));
        } else if (!verdicts.empty()) {
            said.add_list(std::to_string(verdicts.size()) + " contacts have another verdict");
        }
        const std::size_t added = rows(ChangeKind::contact_added).size(), gone = rows(ChangeKind::contact_gone).size();
        if (added > 0) said.add_list(counted(added, "contact", "contacts") + " more on the draft");
        if (gone > 0) said.add_list(counted(gone, "contact", "contacts") + " gone from the draft");
    }

    /// One without a match in the other run.
    void contact_alone(const ContactRecord* old, const ContactRecord* contact) {
        if (contact != nullptr) {
            add({.kind = ChangeKind::contact_added,
                 .what = name_of(*contact),
                 .after = contact->review,
                 .sentence = "Contact " + name_of(*contact) + " is new on the draft.",
                 .place = contact->middle});
        } else {
            add({.kind = ChangeKind::contact_gone,
                 .what = old->unit_a + " | " + old->unit_b,
                 .before = old->review,
                 .sentence = "A contact " + old->unit_a + " | " + old->unit_b + " is gone from the draft.",
                 .place = old->middle});
        }
    }

    const RunRecord &before_, &now_;
    bool same_crs_;
    std::array<std::vector<Change>, change_kind_count> rows_;
};

}  // namespace

std::string_view to_string(ChangeKind kind) {
    static constexpr std::array<std::string_view, change_kind_count> codes{
        "verdict_changed", "contact_located", "contact_verdict", "stop_added",
        "stop_gone",       "stop_moved",      "contact_added",   "contact_gone"};
    return codes[static_cast<std::size_t>(kind)];
}

std::string_view description(ChangeKind kind) {
    static constexpr std::array<std::string_view, change_kind_count> sentences{
        "The stop has another verdict",
        "The contact is located better or worse, by 20 % or more",
        "The contact has another verdict",
        "The stop is new",
        "The stop is gone",
        "The stop is at another place",
        "The contact is new on the draft",
        "The contact is gone from the draft"};
    return sentences[static_cast<std::size_t>(kind)];
}

RunChanges changes_since(const RunRecord& before, const RunRecord& now) { return Comparison(before, now).result(); }

}  // namespace subcrop::publish
