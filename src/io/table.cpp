#include "io/table.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "io/csv_scan.hpp"
#include "io/nearest_name.hpp"
#include "io/survey_keys.hpp"

namespace subcrop::io {

namespace {

/// dBASE cuts names to this many characters.
constexpr std::size_t shapefile_name_length = 10;

void append_digits(std::string& text, int value, int width) {
    char digits[12];
    int count = 0;
    for (int rest = std::abs(value); count < 11 && (rest > 0 || count < width); rest /= 10) {
        digits[count++] = static_cast<char>('0' + rest % 10);
    }
    if (value < 0) text += '-';
    while (count > 0) text += digits[--count];
}

/// "2026-05-03", with "T14:30:00" where a time of day is given. By hand, since a million dates through printf take a
/// second.
void date_text(const OGRFeature& feature, int index, std::string& text) {
    const auto& date = feature.GetRawFieldRef(index)->Date;
    text.clear();
    append_digits(text, date.Year, 4);
    text += '-';
    append_digits(text, date.Month, 2);
    text += '-';
    append_digits(text, date.Day, 2);
    if (date.Hour == 0 && date.Minute == 0 && date.Second == 0) return;
    text += 'T';
    append_digits(text, date.Hour, 2);
    text += ':';
    append_digits(text, date.Minute, 2);
    text += ':';
    append_digits(text, static_cast<int>(date.Second), 2);
}

bool is_ascii(std::string_view text) {
    return std::none_of(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0x80U) != 0; });
}

std::string with_limits(const NumberRule& rule) {
    const std::string unit =
        rule.unit == Unit::none
            ? ""
            : ' ' + std::string(rule.unit == Unit::percent ? name_of(rule.unit) : short_name(rule.unit));
    if (std::isfinite(rule.most)) return "outside " + number_text(rule.least) + " to " + number_text(rule.most) + unit;
    return "below " + number_text(rule.least) + unit;
}

/// A name of the survey file that stands for one column of each horizon.
bool is_numbered(const std::string& name) { return name.find('#') != std::string::npos; }

/// "h1_top" is "top" of the first horizon.
struct Numbered {
    std::string base, pattern;
    int number = 0;  ///< 0: the name has none
};
Numbered numbered_name(const std::string& name) {
    const auto first = name.find_first_of("0123456789");
    if (first == std::string::npos) return {name, name, 0};
    const auto end = std::min(name.find_first_not_of("0123456789", first), name.size());
    if (end - first > 2) return {name, name, 0};
    std::string before = lower(name.substr(0, first)), after = name.substr(end);
    for (const char* word : {"h", "hor", "hz", "horizon", "layer", "h_", "hor_", "horizon_"})
        if (before == word) before.clear();
    std::string base = before + after;
    while (!base.empty() && (base.front() == '_' || base.front() == ' ')) base.erase(0, 1);
    while (!base.empty() && (base.back() == '_' || base.back() == ' ')) base.pop_back();
    return {base, name.substr(0, first) + '#' + after, std::atoi(name.substr(first, end - first).c_str())};
}

/// "weathered rock" and "weathered_rock".
bool same_words(std::string a, std::string b) {
    std::replace(a.begin(), a.end(), '_', ' ');
    std::replace(b.begin(), b.end(), '_', ' ');
    return a == b;
}

/// GDAL makes up a name where a heading is empty.
bool is_made_up(const std::string& name) {
    const std::string small = lower(name);
    return small.starts_with("field") && small.find_first_not_of("_0123456789", 5) == std::string::npos;
}

}  // namespace

Table::Table(OpenLayer open, const SourceDescription& description, std::string key, ProblemLog& problems)
    : open_(std::move(open)), description_(description), key_(std::move(key)), problems_(problems) {
    if (!open_.text_table.empty()) {
        empty_before_ = scan_csv({open_.text_table, open_.text_table_start, open_.names_in_row},
                                 static_cast<std::size_t>(open_.layer->GetLayerDefn()->GetFieldCount()), open_.place,
                                 open_.source, problems_);
    }
    if (!description_.where.empty()) compile_condition();
    open_.layer->ResetReading();
    const GDALDriver* driver = open_.dataset->GetDriver();
    const std::string_view format = driver != nullptr ? const_cast<GDALDriver*>(driver)->GetDescription() : "";
    text_rows_ = format == "CSV";
    first_id_ = format == "ESRI Shapefile" || format == "FlatGeobuf" ? 1 : 0;
    ids_may_be_made_ = format == "GeoJSON";
}

void Table::compile_condition() {
    condition_ = std::make_unique<OGRFeatureQuery>();
    messages_.clear();
    if (condition_->Compile(open_.layer, description_.where.c_str()) != OGRERR_NONE) {
        std::string reason = messages_.last();
        std::replace(reason.begin(), reason.end(), '\n', ' ');
        throw Error(open_.place,
                    "the condition '" + description_.where + "' in '" + key_ + ".where' cannot be read" +
                        (reason.empty() ? std::string() : " (" + reason + ")"),
                    "Write it in SQL, such as: date >= '2026-05-01' AND observer = 'KO'. " + columns_here());
    }
    const CPLStringList needed(condition_->GetUsedFields());
    for (int i = 0; i < needed.Count(); ++i) {
        const int index = open_.layer->GetLayerDefn()->GetFieldIndex(needed[i]);
        if (index >= 0) used_.insert(index);
    }
}

std::int64_t Table::row_as_seen() {
    // GDAL numbers features without an id from 0.
    if (ids_may_be_made_ && rows_read_ == 1 && feature_id() == 0) first_id_ = 1;
    if (!text_rows_) return feature_id() + first_id_;
    const auto number = static_cast<std::int64_t>(rows_read_);
    while (empty_passed_ < empty_before_.size() && empty_before_[empty_passed_] <= number) ++empty_passed_;
    return number + static_cast<std::int64_t>(open_.names_in_row + empty_passed_);
}

namespace {

/// In UTF-8, as the survey file is: spreadsheets save CSV in the code page of their country.
std::string name_of(OGRFieldDefn& field) {
    const std::string_view name = field.GetNameRef();
    return is_utf8(name) ? std::string(name) : utf8_from_latin1(name);
}

}  // namespace

std::vector<std::string> Table::column_names() const {
    std::vector<std::string> names;
    if (const char* id = open_.layer->GetFIDColumn(); id != nullptr && *id != '\0') names.emplace_back(id);
    OGRFeatureDefn& definition = *open_.layer->GetLayerDefn();
    for (int i = 0; i < definition.GetFieldCount(); ++i) names.push_back(name_of(*definition.GetFieldDefn(i)));
    return names;
}

std::string Table::columns_here() const {
    const std::vector<std::string> names = column_names();
    if (names.empty()) return "It has no columns at all.";
    const bool title =
        open_.has_row_of_names && (names.size() == 1 || std::any_of(names.begin(), names.end(), is_made_up));
    return "Columns here: " + listed(names) + "." +
           (title ? " If the names of the columns are in a lower row, say in which: \"header_row\": 3." : "");
}

Column Table::column_at(int index) const {
    used_.insert(index);
    if (index == Column::feature_id) return {index, OFTInteger64, open_.layer->GetFIDColumn()};
    OGRFieldDefn& field = *open_.layer->GetLayerDefn()->GetFieldDefn(index);
    return {index, field.GetType(), name_of(field)};
}

int Table::index_of(const std::string& name) const {
    OGRFeatureDefn& definition = *open_.layer->GetLayerDefn();
    const std::string wanted = lower(name);
    // The exact name first, since a table may tell two columns apart by case.
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        if (name == name_of(*definition.GetFieldDefn(i))) return i;
    }
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        if (wanted == lower(trimmed(name_of(*definition.GetFieldDefn(i))))) return i;
    }
    if (const char* id = open_.layer->GetFIDColumn(); id != nullptr && *id != '\0' && wanted == lower(id)) {
        return Column::feature_id;
    }
    if (wanted.size() > shapefile_name_length) {
        for (int i = 0; i < definition.GetFieldCount(); ++i) {
            if (wanted.substr(0, shapefile_name_length) == lower(definition.GetFieldDefn(i)->GetNameRef())) return i;
        }
    }
    return Column::absent;
}

Column Table::find(const std::string& our_name) const {
    if (const auto mapped = description_.columns.find(our_name); mapped != description_.columns.end()) {
        if (is_numbered(mapped->second)) return {};
        return found_as(our_name, find_theirs(mapped->second, "columns." + our_name));
    }
    if (const int index = index_of(our_name); index != Column::absent) return found_as(our_name, column_at(index));
    if (const int index = index_in_other_unit(our_name); index != Column::absent)
        return found_as(our_name, column_at(index));
    return {};
}

Column Table::find_numbered(const std::string& our_name, std::size_t number) const {
    std::vector<std::string> names = {"h#_" + our_name, our_name + "_#", our_name + '#'};
    const auto with_number = [&](std::string name) { return name.replace(name.find('#'), 1, std::to_string(number)); };
    if (const auto mapped = description_.columns.find(our_name); mapped != description_.columns.end()) {
        if (!is_numbered(mapped->second)) return {};
        names = {mapped->second};
        if (number == 1) return found_as(our_name, find_theirs(with_number(names[0]), "columns." + our_name), names[0]);
    }
    for (const std::string& name : names) {
        if (const int index = index_of(with_number(name)); index != Column::absent)
            return found_as(our_name, column_at(index), name);
    }
    return {};
}

Column Table::found_as(const std::string& our_name, Column column, const std::string& shown) const {
    if (!column.present()) return column;
    their_names_.set(our_name, shown.empty() ? column.name : shown);
    settle_unit(our_name, column);
    return column;
}

int Table::index_in_other_unit(const std::string& our_name) const {
    const NameWithUnit ours = split_unit(our_name);
    if (ours.unit == Unit::none) return Column::absent;
    OGRFeatureDefn& definition = *open_.layer->GetLayerDefn();
    int found = Column::absent;
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        const NameWithUnit theirs = split_unit(name_of(*definition.GetFieldDefn(i)));
        if (theirs.unit == Unit::none || !convertible(theirs.unit, ours.unit) || !same_words(theirs.name, ours.name))
            continue;
        if (found != Column::absent) return Column::absent;
        found = i;
    }
    return found;
}

void Table::settle_unit(const std::string& our_name, Column& column) const {
    const Unit ours = split_unit(our_name).unit;
    if (ours == Unit::none) return;
    // "jar_sand_m" is what dBASE leaves of "jar_sand_mm".
    const bool cut = column.name.size() == shapefile_name_length && our_name.starts_with(lower(column.name));
    Unit in_name = cut ? Unit::none : split_unit(column.name).unit;
    if (!convertible(in_name, ours)) in_name = Unit::none;
    const UnitKey* key = unit_key_of(our_name);
    const auto stated = description_.units.find(our_name);
    Unit hers = in_name;
    if (stated != description_.units.end()) {
        hers = unit_named(stated->second);
        if (in_name != Unit::none && in_name != hers && lower(column.name) != our_name) {
            problems_.add({.severity = Severity::warning,
                           .source = open_.source,
                           .row = std::nullopt,
                           .field = column.name,
                           .value = {},
                           .message = "the column's name says " + std::string(io::name_of(in_name)) +
                                      ", the survey file " + std::string(io::name_of(hers)) +
                                      "; the survey file is followed",
                           .remedy = "Take the key '" + std::string(key->key) + "' out of '" + key_ +
                                     "' if the column's name is right.",
                           .position = std::nullopt});
        }
    } else if (hers != Unit::none && hers != ours) {
        problems_.add({.severity = Severity::note,
                       .source = open_.source,
                       .row = std::nullopt,
                       .field = column.name,
                       .value = {},
                       .message = "the column's name says " + std::string(io::name_of(hers)) + "; it is read so",
                       .remedy = key == nullptr ? ""
                                                : "If that is wrong, state the unit: \"" + std::string(key->key) +
                                                      "\": \"" + key->word_for(ours) + "\" in '" + key_ + "'.",
                       .position = std::nullopt});
    }
    if (hers == Unit::none || hers == ours) return;
    column.unit = hers;
    their_names_.set_unit(our_name, {std::string(short_name(hers)), std::string(io::name_of(hers)),
                                     hers == Unit::percent ? 1 : converted(1, hers, ours)});
}

Column Table::require(const std::string& our_name) const {
    const Column column = find(our_name);
    if (!column.present()) {
        const std::vector<std::string> names = column_names();
        const std::string near = nearest_name(our_name, names);
        throw Error(open_.place, "there is no column '" + our_name + "'",
                    "Say which column it is in the survey file, " + key_ + ".columns: {\"" + our_name + "\": \"" +
                        (near.empty() ? "their name" : near) + "\"}. " + columns_here());
    }
    return column;
}

Column Table::find_theirs(const std::string& name, const std::string& key) const {
    const int index = index_of(name);
    if (index == Column::absent) {
        const std::vector<std::string> names = column_names();
        throw Error(open_.place,
                    "there is no column '" + name + "', which the survey file names in " + key_ + "." + key,
                    did_you_mean(name, names) + columns_here());
    }
    return column_at(index);
}

Column Table::find_if_there(const std::string& name) const {
    const int index = index_of(name);
    return index == Column::absent ? Column() : column_at(index);
}

void Table::report_near_misses(const std::vector<std::string>& our_names) const {
    std::vector<std::string> missing;
    for (const std::string& name : our_names) {
        if (!description_.columns.contains(name) && index_of(name) == Column::absent &&
            index_in_other_unit(name) == Column::absent)
            missing.push_back(name);
    }
    report_twins();
    for (const std::string& theirs : column_names()) {
        const bool known = std::any_of(our_names.begin(), our_names.end(),
                                       [&](const std::string& ours) { return lower(ours) == lower(theirs); });
        const bool used = std::any_of(description_.columns.begin(), description_.columns.end(),
                                      [&](const auto& entry) { return lower(entry.second) == lower(theirs); });
        if (known || used || found_by_unit(theirs)) continue;
        if (report_without_unit(theirs, missing) || theirs.size() < 4) continue;
        const std::vector<std::string> near = by_nearness(theirs, missing);
        // Two letters at most: 'color_moist' is a slip for 'colour_moist', 'soil_notes' may be another column.
        if (near.empty() || edit_distance(theirs, near.front()) > 2 ||
            edit_distance(theirs, near.front()) * 3 > theirs.size()) {
            continue;
        }
        problems_.add({.severity = Severity::warning,
                       .source = open_.source,
                       .row = std::nullopt,
                       .field = theirs,
                       .value = {},
                       .message = "this column is not read; the name is close to '" + near.front() + "'",
                       .remedy = "Rename it, or add \"" + near.front() + "\": \"" + theirs + "\" to " + key_ +
                                 ".columns in the survey file.",
                       .position = std::nullopt});
    }
}

bool Table::found_by_unit(const std::string& theirs) const {
    const int index = index_of(theirs);
    return used_.contains(index) && split_unit(theirs).unit != Unit::none;
}

bool Table::report_without_unit(const std::string& theirs, const std::vector<std::string>& missing) const {
    const Numbered numbered = numbered_name(theirs);
    const NameWithUnit named = split_unit(numbered.base);
    for (const std::string& ours : missing) {
        const NameWithUnit wanted = split_unit(ours);
        if (wanted.unit == Unit::none || !same_words(named.name, wanted.name)) continue;
        if (named.unit != Unit::none && !convertible(named.unit, wanted.unit)) continue;
        if (numbered.number > 1) return true;  // told of the first
        const UnitKey* key = unit_key_of(ours);
        const bool several = numbered.number == 1;
        problems_.add(
            {.severity = Severity::warning,
             .source = open_.source,
             .row = std::nullopt,
             .field = theirs,
             .value = {},
             .message =
                 "this column is not read; it may be '" + ours + "'" + (several ? " of one of several horizons" : ""),
             .remedy = "Add \"" + ours + "\": \"" + (several ? numbered.pattern : theirs) + "\" to " + key_ +
                       ".columns in the survey file" +
                       (key == nullptr ? "."
                                       : ", and \"" + std::string(key->key) + "\" to " + key_ + " if it is not in " +
                                             std::string(io::name_of(wanted.unit)) + "."),
             .position = std::nullopt});
        return true;
    }
    return false;
}

void Table::report_twins() const {
    OGRFeatureDefn& definition = *open_.layer->GetLayerDefn();
    for (const int read : used_) {
        if (read < 0) continue;
        const std::string name = name_of(*definition.GetFieldDefn(read));
        for (int i = 0; i < definition.GetFieldCount(); ++i) {
            if (i == read || used_.contains(i) || lower(trimmed(name_of(*definition.GetFieldDefn(i)))) != lower(name))
                continue;
            problems_.add({.severity = Severity::warning,
                           .source = open_.source,
                           .row = std::nullopt,
                           .field = name,
                           .value = {},
                           .message = "two columns have this name; column " + std::to_string(read + 1) +
                                      " is read and column " + std::to_string(i + 1) + " is not",
                           .remedy = "Rename one of them.",
                           .position = std::nullopt});
        }
    }
}

void Table::skip_unused_columns() {
    if (open_.layer->TestCapability(OLCIgnoreFields) == 0) return;
    OGRFeatureDefn& definition = *open_.layer->GetLayerDefn();
    CPLStringList unused;
    std::set<std::string> read_names;
    for (const int i : used_) {
        if (i >= 0) read_names.insert(lower(definition.GetFieldDefn(i)->GetNameRef()));
    }
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        // GDAL tells columns by name here, and would ignore all of one name.
        if (!read_names.contains(lower(definition.GetFieldDefn(i)->GetNameRef())))
            unused.AddString(definition.GetFieldDefn(i)->GetNameRef());
    }
    open_.layer->SetIgnoredFields(const_cast<const char**>(unused.List()));
}

Text Table::kept(const Column& column, TextPool& pool, bool words_may_be_empty) {
    const auto slot_of = [&](std::string_view value) -> Text& {
        std::size_t slot = value.size() * 31;
        for (std::size_t i = 0; i < value.size() && i < 16; ++i)
            slot = slot * 131 + static_cast<unsigned char>(value[i]);
        return recent_[slot % recent_.size()];
    };
    const std::string_view raw = raw_text(column);
    if (raw.empty()) return {};
    // What is kept is clean, and so is a cell equal to it.
    if (const Text recent = slot_of(raw); recent.str() == raw) return recent;
    const std::string_view value = text(column);
    if (value.empty()) return {};
    // These are never among the recent texts, so that other columns do not find them there.
    if (may_be_no_value(value)) {
        if (!words_may_be_empty) return pool.intern(value);
        remark(Remark::no_value, column, std::string(value));
        return {};
    }
    if (column.keeps_dash && is_dash(value)) return pool.intern(value);
    Text& recent = slot_of(value);
    if (recent.str() != value) recent = pool.intern(value);
    return recent;
}

void Table::remark(Remark kind, const Column& column, std::string value, const std::string& message) {
    std::string way = message;
    std::erase_if(way, [](char c) { return (c >= '0' && c <= '9') || c == '.'; });
    Remarked& all = remarks_[{kind, column.index, std::move(way)}];
    if (all.count > 0 && all.last_row == row_) return;  // a cell may be looked at twice
    all.last_row = row_;
    if (all.count++ > 0) return;
    all.row = row_;
    all.field = column.name;
    all.stop = owner();
    all.value = std::move(value);
    all.message = message;
}

void Table::tell_remarks() {
    for (const auto& [of, all] : remarks_) {
        const std::string cells = std::to_string(all.count) + " cells of this column";
        Problem problem{.severity = Severity::note,
                        .source = open_.source,
                        .row = all.row,
                        .field = all.field,
                        .value = all.value,
                        .message = {},
                        .remedy = {},
                        .position = std::nullopt,
                        .stop = all.stop};
        if (std::get<Remark>(of) == Remark::reading) {
            problem.message = all.message;
            if (all.count > 1)
                problem.message += ", and " + std::to_string(all.count - 1) + " more of this column in the same way";
        } else if (std::get<Remark>(of) == Remark::not_utf8) {
            problem.message =
                (all.count == 1 ? "the text is not UTF-8; read as Windows-1252 (Latin-1)"
                                : cells + " are not UTF-8, this one first; they are read as Windows-1252 (Latin-1)");
            problem.remedy = "Save the file as UTF-8.";
        } else {
            problem.message = empty_words_message(all.count);
            problem.remedy = "Nothing to do. If it means something, write it in other words.";
        }
        problems_.add(std::move(problem));
    }
    remarks_.clear();
}

bool Table::next_row() {
    if (plain_) {
        feature_.reset();
        switch (plain_->next()) {
            case PlainRows::Step::plain:
                return true;
            case PlainRows::Step::end:
                return false;
            case PlainRows::Step::odd:
                feature_.reset(open_.layer->GetFeature(plain_->id()));
                if (feature_) return true;
                break;
            case PlainRows::Step::failed:
                break;
        }
        // GDAL gives a better reason, so it continues where SQLite stopped.
        plain_.reset();
        open_.layer->ResetReading();
        for (std::size_t i = 0; i < rows_read_; ++i) {
            feature_.reset(open_.layer->GetNextFeature());
            if (!feature_) return false;
        }
    }
    feature_.reset(open_.layer->GetNextFeature());
    return feature_ != nullptr;
}

const OGRGeometry* Table::geometry() {
    if (!feature_) feature_.reset(open_.layer->GetFeature(plain_->id()));
    return feature_ ? feature_->GetGeometryRef() : nullptr;
}

bool Table::next() {
    if (rows_read_ == 0 && !feature_) {
        skip_unused_columns();
        if (!condition_) plain_ = PlainRows::open(open_, used_);
    }
    const std::size_t failures = messages_.failures();
    do {
        if (!next_row()) {
            tell_remarks();
            if (messages_.failures() != failures) {
                Place place = open_.place;
                throw Error(place,
                            "reading breaks off" + (row_ > 0 ? " after row " + std::to_string(row_) : std::string()) +
                                " (" + messages_.last() + ")",
                            "The file seems damaged or cut short; copy it again.");
            }
            return false;
        }
        ++rows_read_;
        row_ = row_as_seen();
    } while (above_names() || !meets_condition());
    if (messages_.failures() != failures) {
        report(Severity::warning, {}, {}, "part of this row cannot be read (" + messages_.last() + ")",
               "Correct the row at its source.");
    }
    return true;
}

bool Table::has(const Column& column) const {
    if (column.index == Column::absent) return false;
    if (column.index == Column::feature_id) return true;
    return feature_ ? feature_->IsFieldSetAndNotNull(column.index) != FALSE : plain_->has(column.index);
}

std::string_view Table::raw_text(const Column& column) {
    if (!has(column)) return {};
    if (column.index == Column::feature_id) {
        scratch_ = std::to_string(feature_id());
        return scratch_;
    }
    if (!feature_) {
        if (column.type == OFTString || column.type == OFTDate) return plain_->text(column.index);
        const double value = column.type == OFTReal ? plain_->real(column.index) : 0;
        if (std::isnan(value)) return {};
        scratch_ = column.type == OFTReal ? number_text(value) : std::to_string(plain_->integer(column.index));
        return scratch_;
    }
    switch (column.type) {
        case OFTString:
            return feature_->GetRawFieldRef(column.index)->String;
        case OFTReal: {
            const double value = feature_->GetRawFieldRef(column.index)->Real;
            if (std::isnan(value)) return {};
            scratch_ = number_text(value);
            return scratch_;
        }
        case OFTDate:
        case OFTDateTime:
            date_text(*feature_, column.index, scratch_);
            return scratch_;
        case OFTStringList: {
            scratch_.clear();
            for (char** item = feature_->GetFieldAsStringList(column.index); item != nullptr && *item != nullptr;
                 ++item) {
                if (!scratch_.empty()) scratch_ += "; ";
                scratch_ += *item;
            }
            return scratch_;
        }
        default:
            return feature_->GetFieldAsString(column.index);
    }
}

std::string_view Table::text(const Column& column) {
    std::string_view value = raw_text(column);
    if (value.empty()) return value;
    if (!is_ascii(value) && !is_utf8(value)) {
        std::string in_utf8 = utf8_from_latin1(value);
        remark(Remark::not_utf8, column, std::string(trimmed(in_utf8)));
        scratch_ = std::move(in_utf8);
        value = scratch_;
    }
    value = trimmed(value);
    return is_dash(value) && !column.keeps_dash ? std::string_view() : value;
}

std::string Table::as_written(const Column& column) {
    std::string written(text(column));
    if (column.unit != Unit::none && !written.empty() && written.back() >= '0' && written.back() <= '9')
        written += ' ' + std::string(short_name(column.unit));
    return written;
}

std::optional<double> Table::number(const Column& column, const NumberRule& rule, std::string_view instead) {
    half_range_ = 0;
    if (!has(column)) return std::nullopt;
    std::optional<double> value;
    if (column.index == Column::feature_id) {
        value = static_cast<double>(feature_id());
    } else if (!feature_ && (column.type == OFTInteger || column.type == OFTInteger64)) {
        value = static_cast<double>(plain_->integer(column.index));
    } else if (!feature_ && column.type == OFTReal) {
        value = plain_->real(column.index);
    } else if (column.type == OFTInteger) {
        value = feature_->GetRawFieldRef(column.index)->Integer;
    } else if (column.type == OFTInteger64) {
        value = static_cast<double>(feature_->GetRawFieldRef(column.index)->Integer64);
    } else if (column.type == OFTReal) {
        value = feature_->GetRawFieldRef(column.index)->Real;
        if (std::isnan(*value)) return std::nullopt;  // how several programs write an empty cell
    } else {
        const std::string_view written = text(column);
        if (written.empty()) return std::nullopt;
        Parsed<double> parsed = read_number(written, column.unit == Unit::none ? rule.unit : column.unit, &half_range_);
        if (!parsed && may_be_no_value(written)) {
            remark(Remark::no_value, column, std::string(written));
            return std::nullopt;
        }
        if (!parsed) {
            report(Severity::warning, column, std::string(written), std::move(parsed.message),
                   std::move(parsed.remedy));
            return std::nullopt;
        }
        if (parsed.message.starts_with("a slope in percent") || parsed.message.starts_with("feet and inches"))
            remark_reading(column, std::string(written), parsed.message);
        else if (!parsed.message.empty())
            report(Severity::note, column, std::string(written), std::move(parsed.message));
        value = parsed.value;
    }
    if (!std::isfinite(*value)) {
        report(Severity::warning, column, number_text(*value), "the number is infinite",
               "Write a number or leave the cell empty.");
        return std::nullopt;
    }
    if (column.unit != Unit::none) {
        value = converted(*value, column.unit, rule.unit);
        half_range_ = converted(half_range_, column.unit, rule.unit);
    }
    if (*value < rule.least || *value > rule.most) {
        report(Severity::warning, column, as_written(column),
               "the value is " + with_limits(rule) +
                   (instead.empty() ? " and is left out" : " and is left out; " + std::string(instead)),
               "Correct it or leave the cell empty.");
        return std::nullopt;
    }
    return value;
}

std::optional<double> Table::depth(const Column& column, const NumberRule& rule, float& spread) {
    const std::optional<double> value = number(column, rule);
    spread = static_cast<float>(half_range_);
    return value;
}

std::optional<bool> Table::yes_no(const Column& column) {
    const std::string_view written = text(column);
    if (written.empty()) return std::nullopt;
    const auto value = read_yes_no(written);
    if (!value) {
        report(Severity::warning, column, std::string(written), "this is neither yes nor no", "Write yes or no.");
    }
    return value;
}

void Table::report(Severity severity, const Column& column, std::string value, std::string message,
                   std::string remedy) {
    problems_.add({.severity = severity,
                   .source = open_.source,
                   .row = row_,
                   .field = column.name,
                   .value = std::move(value),
                   .message = std::move(message),
                   .remedy = std::move(remedy),
                   .position = std::nullopt,
                   .stop = owner()});
}

std::string Table::owner() {
    if (!owner_.present()) return {};
    // The caller may still use the text in scratch_.
    std::string held;
    held.swap(scratch_);
    const std::string_view written = trimmed(raw_text(owner_));
    std::string name = is_utf8(written) ? std::string(written) : utf8_from_latin1(written);
    scratch_.swap(held);
    return name;
}

}  // namespace subcrop::io
