#include "cli/run_report.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/publish/report.hpp"

namespace subcrop::cli {

namespace {

constexpr std::size_t problems_on_screen = 5;
constexpr std::size_t changes_on_screen = 20;
constexpr std::size_t check_problems_on_screen = 50;
constexpr std::size_t max_units_on_screen = 16;  // as in the legend of the page

const char* label(infer::Verdict verdict) {
    switch (verdict) {
        case infer::Verdict::agrees:
            return "agree";
        case infer::Verdict::conflicts:
            return "conflict";
        case infer::Verdict::near_contact:
            return "near a contact";
        case infer::Verdict::undecided:
            return "undecided";
        case infer::Verdict::unlike_any_unit:
            return "unlike any unit";
        case infer::Verdict::transported:
            return "transported soil";
        case infer::Verdict::no_evidence:
            return "no evidence";
        case infer::Verdict::off_map:
            return "off the map";
        case infer::Verdict::fits:
            return "fit one unit";
    }
    return "";
}

void print_verdicts(std::ostream& out, const std::vector<std::size_t>& verdicts, bool without_draft,
                    std::size_t width) {
    std::size_t digits = 0, labels = 0;
    for (std::size_t i = 0; i < verdicts.size(); ++i) {
        digits = std::max(digits, grouped(verdicts[i]).size());
        if (verdicts[i] > 0) labels = std::max(labels, width_of(label(static_cast<infer::Verdict>(i))));
    }
    for (std::size_t i = 0; i < verdicts.size(); ++i) {
        const auto verdict = static_cast<infer::Verdict>(i);
        // Every kind that was looked for is listed, even with a count of zero.
        const bool looked_for =
            verdict == infer::Verdict::undecided || (verdict <= infer::Verdict::conflicts && !without_draft);
        if (verdicts[i] == 0 && !looked_for) continue;
        const std::string count = grouped(verdicts[i]), name = label(verdict);
        labels = std::max(labels, width_of(name));
        out << "  " << std::string(digits - count.size(), ' ') << count << "  " << name
            << std::string(labels - width_of(name) + 2, ' ')
            << wrapped(description(verdict), digits + labels + 6, width) << '\n';
    }
}

void print_changes(std::ostream& out, const publish::RunChanges& changes, std::size_t width) {
    if (changes.headline.empty()) return;
    out << '\n' << wrapped(changes.headline + '.', 2, width) << '\n';
    if (!changes.rows.empty())
        out << "  The layer 'changes' lists " << (changes.rows.size() == 1 ? "it" : "them all") << ".\n";
}

void print_highlights(std::ostream& out, const char* heading, const std::vector<publish::Highlight>& highlights,
                      std::size_t width) {
    if (highlights.empty()) return;
    std::vector<std::pair<std::string, std::string>> rows;
    for (const publish::Highlight& h : highlights) rows.emplace_back(h.name, h.reason);
    out << '\n' << heading << '\n';
    print_pairs(out, rows, width);
}

/// The answer: along how much of their length contacts are misplaced, or that none needs to move.
void print_where_contacts_run(std::ostream& out, const publish::RunSummary& s, std::size_t width) {
    const bool asked = !s.shift_decided_by.empty();
    out << "\nWhere the contacts run\n  " << wrapped((asked ? s.headline + ". " : "") + s.because, 2, width) << '\n';
    std::vector<std::pair<std::string, std::string>> rows;
    for (const publish::Highlight& h : s.stretches) rows.emplace_back(h.name, h.reason);
    print_pairs(out, rows, width);
    if (s.elsewhere.stretches > s.stretches.size())
        out << "  and " << counted(s.elsewhere.stretches - s.stretches.size(), "stretch", "stretches")
            << " more; 'contact_review' has them by contact\n";
}

/// Proposed changes of the draft, and decisions so far.
void print_proposals(std::ostream& out, const publish::RunSummary& s, std::size_t width) {
    const publish::RunSummary::Decided& d = s.decided;
    if (d.open + d.accepted + d.rejected + d.later == 0) return;
    std::string counts = std::to_string(d.open) + " to decide";
    const auto add = [&](std::size_t count, const char* word) {
        if (count > 0) counts += ", " + std::to_string(count) + ' ' + word;
    };
    add(d.accepted, "accepted");
    add(d.later, "left for later");
    add(d.rejected, "rejected");
    out << "\nProposals: " << counts << '\n';
    std::vector<std::pair<std::string, std::string>> rows;
    for (const publish::Highlight& h : s.proposals) rows.emplace_back(h.name, h.reason);
    print_pairs(out, rows, width);
    if (d.open > s.proposals.size())
        out << "  and " << d.open - s.proposals.size() << " more in the layer 'proposals'\n";
    if (d.open > 0)
        out << "  "
            << wrapped("To decide: subcrop decide SURVEY " + s.proposals.front().name +
                           " accepted (or rejected, or later), or the column 'decision' of the layer.",
                       2, width)
            << '\n';
    if (d.accepted > 0)
        out << "  " << wrapped("subcrop adopt SURVEY writes the next draft from what you accepted.", 2, width) << '\n';
}

void print_first_map(std::ostream& out, const publish::RunSummary& s, std::size_t width) {
    out << "\nA first map\n  "
        << wrapped("There is no draft. A first map was drawn from bedrock observed at " +
                       counted(s.stops_rock_seen, "stop", "stops") +
                       " and the soil at all stops. Its units are in revised_units, its contacts in "
                       "relocated_contacts, and the doubtful zone about each contact in contact_zones. Between stops "
                       "it is a guess, and thin beds are missed." +
                       (s.first_map_range.empty() ? "" : " ") + s.first_map_range,
                   2, width)
        << '\n';
}

std::string percent(double share) { return std::to_string(std::lround(share * 100)) + " %"; }

void print_skill(std::ostream& out, const publish::RunSummary& s, std::size_t width) {
    const infer::HeldOutSkill& skill = s.skill;
    out << "\nHow far to trust it\n";
    auto say = [&](const std::string& text) { out << "  " << wrapped(text, 2, width) << '\n'; };
    if (skill.stops > 0) {
        const bool observed = skill.known_by == "observed bedrock";
        say(std::string("Tested with the ") + (observed ? "observed bedrock" : "map") +
            " hidden: soil alone named the " + (observed ? "observed" : "mapped") + " unit at " +
            percent(skill.accuracy) + " of " + counted(skill.stops, "stop", "stops") +
            (skill.known_by.starts_with("stops ") ? " " + skill.known_by.substr(6) : "") +
            " (guessing the commonest unit: " + percent(skill.share_accuracy) + ").");
    } else {
        say("At no stop was the right unit known, so the soil could not be tested here.");
    }
    if (!s.calibrated) {
        say("Use the probabilities only to rank stops: bedrock was observed at too few stops (" +
            std::to_string(s.stops_rock_seen) + "; " + std::to_string(infer::enough_observed_stops) +
            " needed) to check them.");
    }
}

void print_cut_texts(std::ostream& out, const std::vector<publish::CutTexts>& all, std::size_t width) {
    for (const publish::CutTexts& cut : all) {
        out << "Cut:     "
            << wrapped(counted(cut.rows, "text", "texts") + " of " + cut.column + " in " + cut.layer + ": a " +
                           cut.format +
                           " holds 254 bytes of each. They end in ... there; results.gpkg holds them whole.",
                       9, width)
            << '\n';
    }
}

/// What is missing in a survey that has no stops or no map yet.
void print_to_fill_in(std::ostream& out, const publish::CheckSummary& s, std::size_t width) {
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << "nothing to judge yet\n\nStill to be filled in\n";
    std::vector<std::pair<std::string, std::string>> rows;
    for (const io::EmptySource& part : s.to_fill_in) {
        std::string text = part.source + ": ";
        if (part.key == "stops")
            text += "there are no stops in it. Each needs its place and a name.";
        else if (part.key == "map")
            text +=
                "there are no polygons in it. Draw your draft there, each polygon with its unit, or name another file.";
        else if (part.key == "horizons")
            text += "there are no horizons in it. Without them only landform and plants count.";
        else
            text += "there is no unit in it. It may stay empty: the units are then taken from the map.";
        rows.emplace_back(part.key, text);
    }
    print_pairs(out, rows, width);
}

}  // namespace

void print_summary(std::ostream& out, const publish::RunSummary& s, std::size_t width) {
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << counted(s.stops, "stop", "stops") << " judged\n\n";
    print_verdicts(out, s.verdicts, s.without_draft, width);
    if (!s.units.empty() && s.units.size() <= max_units_on_screen) {
        std::string list;
        for (const std::string& unit : s.units) list += (list.empty() ? "Units: " : ", ") + unit;
        out << "\n  " << wrapped(list + ".", 2, width) << '\n';
    }
    print_changes(out, s.changes, width);
    if (s.without_draft)
        print_first_map(out, s, width);
    else
        print_where_contacts_run(out, s, width);
    print_proposals(out, s, width);
    print_highlights(out, "Strongest conflicts with the draft map", s.conflicts, width);
    print_highlights(out, "Contacts most in doubt", s.contacts, width);
    if (s.contacts_without_stops > 0) {
        out << (s.contacts.empty() ? "\nContacts most in doubt\n" : "") << "  "
            << wrapped((s.contacts.empty() ? "No stop beside a contact contradicts it. " : "") +
                           counted(s.contacts_without_stops, "contact has", "contacts have") +
                           " no stops beside it, but should move: inferred from neighbouring contacts.",
                       2, width)
            << '\n';
    }
    print_highlights(out, "Disputed areas", s.disputed, width);
    if (!s.next_stops.empty()) {
        print_highlights(out,
                         s.next_stop_count == 1 ? "Next stop"
                         : s.without_draft      ? "Next stops, best for the first map first"
                                                : "Next stops, the greatest gain first",
                         s.next_stops, width);
        if (s.next_stop_count > s.next_stops.size())
            out << "  and " << s.next_stop_count - s.next_stops.size()
                << " more in the layer 'next_stops', which also gives their order in a walk\n";
        if (!s.next_stops_worth.empty()) out << "  " << wrapped(s.next_stops_worth, 2, width) << '\n';
    }
    print_skill(out, s, width);
    print_operations(out, s.operations, width);
    const std::size_t total = s.problem_errors + s.problem_warnings + s.problem_notes;
    if (total > 0) {
        out << "\nProblems in the data: " << problem_counts(s.problem_errors, s.problem_warnings, s.problem_notes)
            << '\n';
        print_problems(out, s.first_problems, problems_on_screen, total, " in the layer 'problems'", width);
    }
    out << "\nResults: " << visible(s.result_file.string()) << '\n';
    if (!s.grid_file.empty()) out << "         " << visible(s.grid_file.string()) << '\n';
    for (const auto& folder : s.other_formats) out << "         " << visible(folder.string()) << '\n';
    if (!s.database.empty()) out << "         " << visible(s.database) << '\n';
    print_cut_texts(out, s.cut_texts, width);
    if (!s.report_file.empty()) {
        out << "Report:  " << visible(s.report_file.string()) << '\n';
    } else if (s.too_many_for_report) {
        out << wrapped("Report:  none above " + grouped(publish::max_report_stops) +
                           " stops, which browsers draw slowly; --report writes it anyway.",
                       9, width)
            << '\n';
    }
    if (s.older_report) out << wrapped("The report.html beside the results is of an earlier run.", 0, width) << '\n';
    out << wrapped(
               "Caution: before digging, find out what is buried there. The results serve mapping. They are no basis "
               "for "
               "foundations, slopes or wells without a licensed professional.",
               0, width)
        << '\n';
}

void print_difference(std::ostream& out, const publish::RunSummary& before, const publish::RunSummary& now,
                      std::size_t width) {
    const publish::RunChanges changes = changes_between(before, now);
    out << '\n' << wrapped(changes.headline + '.', 2, width) << '\n';
    for (std::size_t i = 0; i < std::min(changes.rows.size(), changes_on_screen); ++i)
        out << "  " << wrapped(changes.rows[i].sentence, 4, width) << '\n';
    if (changes.rows.size() > changes_on_screen)
        out << "  and " << grouped(changes.rows.size() - changes_on_screen) << " more\n";
    // Rows shift when others are put in before them.
    const auto key = [](const Problem& p) {
        return std::tie(p.severity, p.source, p.stop, p.field, p.value, p.message);
    };
    std::map<decltype(key(Problem())), std::size_t> known;
    for (const Problem& p : before.problems) ++known[key(p)];
    std::vector<Problem> fresh;
    for (const Problem& p : now.problems) {
        const auto found = known.find(key(p));
        if (found == known.end() || found->second == 0)
            fresh.push_back(p);
        else
            --found->second;
    }
    std::size_t mended = 0;
    for (const auto& [of, count] : known) mended += count;
    if (mended > 0) out << "  " << counted(mended, "problem", "problems") << " in the data solved\n";
    if (fresh.empty()) return;
    out << "New problems in the data\n";
    print_problems(out, fresh, problems_on_screen, fresh.size(), " in the layer 'problems'", width);
}

void print_summary(std::ostream& out, const publish::CheckSummary& s, std::size_t width) {
    if (!s.to_fill_in.empty()) {
        print_to_fill_in(out, s, width);
        return;
    }
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << counted(s.stops, "stop", "stops") << ", "
        << counted(s.horizons, "horizon", "horizons") << ", " << counted(s.polygons, "map polygon", "map polygons")
        << '\n';
    print_operations(out, s.operations, width);
    std::size_t counts[3] = {};
    for (const Problem& p : s.problems) ++counts[static_cast<std::size_t>(p.severity)];
    const std::string words = problem_counts(counts[static_cast<std::size_t>(Severity::error)],
                                             counts[static_cast<std::size_t>(Severity::warning)],
                                             counts[static_cast<std::size_t>(Severity::note)]);
    out << "\nProblems in the data: " << (words.empty() ? "none" : words) << '\n';
    print_problems(out, s.problems, check_problems_on_screen, s.problems.size(), "; --json lists them all", width);
}

}  // namespace subcrop::cli
