#include <charconv>
#include <map>
#include <string_view>

#include "audit_parts.hpp"
#include "subcrop/field/written_date.hpp"

namespace subcrop::model {

namespace {

/// "sst" for "sandstone": a few letters of it in their order, the first one among them.
bool may_be_short_for(std::string_view word, std::string_view name) {
    constexpr std::size_t longest_short = 4;
    if (word.empty() || word.size() > longest_short || 2 * word.size() > name.size() || word.front() != name.front())
        return false;
    std::size_t at = 0;
    for (const char c : name) {
        if (at < word.size() && word[at] == c) ++at;
    }
    return at == word.size();
}

/// "sandstones" and "sandstone", "sandstome" and "sandstone": one letter more, less or other.
bool one_letter_apart(std::string_view a, std::string_view b) {
    constexpr std::size_t shortest = 5;  // marl and marls, but also clay and slay
    if (a.size() > b.size()) std::swap(a, b);
    if (a == b || a.size() < shortest || b.size() - a.size() > 1) return false;
    std::size_t same = 0;
    while (same < a.size() && a[same] == b[same]) ++same;
    return a.substr(a.size() == b.size() ? same + 1 : same) == b.substr(same + 1);
}

/// How often a word was written, and where first.
struct Written {
    std::size_t times = 0;
    std::size_t first = 0;  ///< horizon
};

class Words {
public:
    Words(const Survey& survey, const Reduced& reduced, ProblemLog& problems)
        : survey_(survey), reduced_(reduced), problems_(problems), twice_(problems) {}

    void look() {
        std::vector<std::size_t> stop_of(survey_.horizons.size(), 0);
        for (std::size_t s = 0; s < survey_.stops.size(); ++s) {
            const Stop& stop = survey_.stops[s];
            std::fill_n(stop_of.begin() + stop.first_horizon, stop.horizon_count, s);
        }
        std::map<std::string, Written> kinds, minerals;
        for (std::size_t h = 0; h < survey_.horizons.size(); ++h) {
            if (const std::int32_t code = reduced_.fragment_kind.codes[h]; code >= 0) {
                count(kinds, reduced_.fragment_kind.values[static_cast<std::size_t>(code)], h);
            }
            if (const std::int32_t code = reduced_.minerals.codes[h]; code >= 0) {
                for (const std::string& word : reduced_.minerals.values[static_cast<std::size_t>(code)])
                    count(minerals, word, h);
            }
        }
        look_for_synonyms(kinds, stop_of, "fragment_kind");
        look_for_synonyms(minerals, stop_of, "minerals");
        look_at_dates();
    }

private:
    static void count(std::map<std::string, Written>& words, const std::string& word, std::size_t horizon) {
        if (words.size() >= max_words && !words.contains(word)) return;
        Written& written = words[word];
        if (written.times++ == 0) written.first = horizon;
    }

    /// Each rarer word against the commoner ones. A word that may be short for several is left alone.
    void look_for_synonyms(const std::map<std::string, Written>& words, const std::vector<std::size_t>& stop_of,
                           const char* field) {
        for (const auto& [word, written] : words) {
            const std::string* meant = nullptr;
            std::size_t candidates = 0;
            for (const auto& [name, of_name] : words) {
                if (of_name.times < written.times || (of_name.times == written.times && name > word)) continue;
                if (!may_be_short_for(word, name) && !one_letter_apart(word, name)) continue;
                ++candidates;
                meant = &name;
            }
            if (candidates != 1) continue;
            const std::size_t stop = stop_of[written.first];
            twice_.add({.severity = Severity::note,
                        .source = survey_.horizon_source_of(stop),
                        .row = survey_.horizons[written.first].row,
                        .field = survey_.horizon_columns_of(stop).of(field),
                        .value = word,
                        .message = "'" + word + "' (" + times(written.times) + ") and '" + *meant + "' (" +
                                   times(words.at(*meant).times) + ") are taken as two different things",
                        .remedy = "If they are one, write the same word throughout.",
                        .position = {}});
        }
    }

    static std::string times(std::size_t count) {
        return count == 1 ? "once" : count == 2 ? "twice" : std::to_string(count) + " times";
    }

    /// Year, month and day, and nothing behind but a time of day.
    static bool is_date(std::string_view text) {
        if (text.size() < 10 || (text[4] != '-' && text[4] != '/') || text[7] != text[4]) return false;
        if (text.size() > 10 && text[10] != 'T' && text[10] != ' ') return false;
        const auto figures = [&](std::size_t from, std::size_t count) {
            int value = -1;
            const char* const end = text.data() + from + count;
            return std::from_chars(text.data() + from, end, value).ptr == end ? value : -1;
        };
        const int month = figures(5, 2), day = figures(8, 2);
        return figures(0, 4) > 0 && month >= 1 && month <= 12 && day >= 1 && day <= 31;
    }

    /// The readers accept dates with one meaning. The others are reported once for each way of writing.
    void look_at_dates() {
        struct Odd {
            std::string remedy;
            const Stop* first = nullptr;
            std::size_t count = 0;
        };
        std::map<std::string, Odd> odd;
        for (const Stop& stop : survey_.stops) {
            if (stop.date.empty() || is_date(stop.date.str())) continue;
            const Parsed<std::string> read = field::read_date(stop.date.str());
            if (read) continue;
            Odd& same = odd.try_emplace(read.message, Odd{read.remedy, &stop, 0}).first->second;
            ++same.count;
        }
        for (const auto& [message, same] : odd) {
            const auto s = static_cast<std::size_t>(same.first - survey_.stops.data());
            const std::size_t others = same.count - 1;
            problems_.add({.severity = Severity::note,
                           .source = survey_.source_of(s),
                           .row = same.first->row,
                           .field = survey_.columns_of(s).of("date"),
                           .value = same.first->date.str(),
                           .message = message +
                                      (others == 0   ? ""
                                       : others == 1 ? ", as at 1 other stop"
                                                     : ", as at " + std::to_string(others) + " other stops") +
                                      "; the date is kept as written",
                           .remedy = same.remedy,
                           .position = {}});
        }
    }

    static constexpr std::size_t max_words = 300;  // each is set against all the others

    const Survey& survey_;
    const Reduced& reduced_;
    ProblemLog& problems_;
    Findings twice_;
};

}  // namespace

void audit_words(const Survey& survey, const Reduced& reduced, ProblemLog& problems) {
    Words(survey, reduced, problems).look();
}

}  // namespace subcrop::model
