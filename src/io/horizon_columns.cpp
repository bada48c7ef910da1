#include "io/horizon_columns.hpp"

#include "io/book_columns.hpp"

namespace subcrop::io {

namespace {

using model::Horizon;

struct TextName {
    const char* name;
    Text Horizon::*member;
};
constexpr std::array<TextName, 9> text_names = {{{"designation", &Horizon::designation},
                                                 {"colour_moist", &Horizon::colour_moist},
                                                 {"colour_dry", &Horizon::colour_dry},
                                                 {"texture", &Horizon::texture},
                                                 {"fragment_kind", &Horizon::fragment_kind},
                                                 {"fragment_shape", &Horizon::fragment_shape},
                                                 {"effervescence", &Horizon::effervescence},
                                                 {"minerals", &Horizon::minerals},
                                                 {"redox", &Horizon::redox}}};

struct NumberName {
    const char* name;
    std::optional<double> Horizon::*member;
};
constexpr std::array<NumberName, 8> number_names = {{{"sand_pct", &Horizon::sand_pct},
                                                     {"silt_pct", &Horizon::silt_pct},
                                                     {"clay_pct", &Horizon::clay_pct},
                                                     {"jar_sand_mm", &Horizon::jar_sand_mm},
                                                     {"jar_silt_mm", &Horizon::jar_silt_mm},
                                                     {"jar_clay_mm", &Horizon::jar_clay_mm},
                                                     {"fragments_pct", &Horizon::fragments_pct},
                                                     {"ph", &Horizon::ph}}};

}  // namespace

HorizonColumns::HorizonColumns(const Table& table, std::size_t number) : number_(number) {
    top_ = column(table, "top_cm");
    bottom_ = column(table, "bottom_cm");
    depth_rule_ = rule_of(horizon_book(), "top_cm");
    for (const TextName& entry : text_names) {
        if (Column found = column(table, entry.name); found.present()) {
            // In some books '-' is no reaction, and '+' a slight one.
            found.keeps_dash = entry.member == &Horizon::effervescence;
            texts_.emplace_back(std::move(found), entry.member);
        }
    }
    for (const NumberName& entry : number_names) {
        if (Column found = column(table, entry.name); found.present()) {
            numbers_.push_back({std::move(found), entry.member, rule_of(horizon_book(), entry.name)});
        }
    }
}

Column HorizonColumns::column(const Table& table, const char* name) {
    Column found = number_ == 0 ? table.find(name) : table.find_numbered(name, number_);
    if (found.present()) {
        any_ = true;
        found_.emplace_back(name);
    }
    return found;
}

bool HorizonColumns::read(Table& table, TextPool& texts, Horizon& horizon) const {
    bool filled = false;
    horizon.row = table.row();
    for (const auto& [column, member] : texts_) {
        horizon.*member = table.described(column, texts);
        // A dash is kept for what it may mean, but makes no horizon.
        filled = filled || (!(horizon.*member).empty() && !is_dash((horizon.*member).str()));
    }
    for (const NumberColumn& entry : numbers_) {
        horizon.*entry.member = table.number(entry.column, entry.rule);
        filled = filled || (horizon.*entry.member).has_value();
    }
    horizon.top_cm = table.depth(top_, depth_rule_, horizon.top_spread_cm);
    horizon.bottom_cm = table.depth(bottom_, depth_rule_, horizon.bottom_spread_cm);
    filled = filled || horizon.top_cm || horizon.bottom_cm;
    if (horizon.top_cm && horizon.bottom_cm && *horizon.top_cm >= *horizon.bottom_cm) {
        const bool ours = top_.unit == Unit::none && bottom_.unit == Unit::none;
        table.report(
            Severity::warning, top_,
            ours ? number_text(*horizon.top_cm) + " to " + number_text(*horizon.bottom_cm)
                 : table.as_written(top_) + " to " + table.as_written(bottom_),
            *horizon.top_cm == *horizon.bottom_cm ? "the horizon has no thickness; its depths are left out"
                                                  : "the top lies below the bottom; both depths are left out",
            ours ? "Depths are centimetres below the surface, top first." : "Depths are below the surface, top first.");
        horizon.top_cm.reset();
        horizon.bottom_cm.reset();
    }
    return filled;
}

std::vector<HorizonColumns> horizons_of_stops(const Table& table) {
    std::vector<HorizonColumns> horizons{HorizonColumns(table)};
    if (horizons.front().any()) return horizons;
    horizons.clear();
    constexpr std::size_t max_horizons = 50;
    for (std::size_t number = 1; number <= max_horizons; ++number) {
        HorizonColumns next(table, number);
        if (!next.any()) break;
        horizons.push_back(std::move(next));
    }
    return horizons;
}

}  // namespace subcrop::io
