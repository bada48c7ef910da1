#include "io/table.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "io/csv_scan.hpp"
#include "io/nearest_name.hpp"

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
    const std::string unit = rule.unit == Unit::percent       ? " percent"
                             : rule.unit == Unit::degrees     ? " degrees"
                             : rule.unit == Unit::centimetres ? " cm"
                             : rule.unit == Unit::millimetres ? " mm"
                             : rule.unit == Unit::metres      ? " m"
                                                              : "";
    if (std::isfinite(rule.most)) return "outside " + number_text(rule.least) + " to " + number_text(rule.most) + unit;
    return "below " + number_text(rule.least) + unit;
}

std::string columns_here(const std::vector<std::string>& names) {
    return names.empty() ? std::string("It has no columns at all.") : "Columns here: " + listed(names) + ".";
}

}  // namespace

Table::Table(OpenLayer open, const SourceDescription& description, std::string key, ProblemLog& problems)
    : open_(std::move(open)), description_(description), key_(std::move(key)), problems_(problems) {
    if (!open_.text_table.empty()) {
        empty_before_ =
            scan_csv(open_.text_table, static_cast<std::size_t>(open_.layer->GetLayerDefn()->GetFieldCount()),
                     open_.place, open_.source, problems_);
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
        throw Error(
            open_.place,
            "the condition '" + description_.where + "' in '" + key_ + ".where' cannot be read" +
                (reason.empty() ? std::string() : " (" + reason + ")"),
            "Write it in SQL, such as: date >= '2026-05-01' AND observer = 'KO'. " + columns_here(column_names()));
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
    return number + 1 + static_cast<std::int64_t>(empty_passed_);
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
    Column column;
    if (const auto mapped = description_.columns.find(our_name); mapped != description_.columns.end()) {
        column = find_theirs(mapped->second, "columns." + our_name);
    } else if (const int index = index_of(our_name); index != Column::absent) {
        column = column_at(index);
    }
    if (column.present()) their_names_.set(our_name, column.name);
    return column;
}

Column Table::require(const std::string& our_name) const {
    const Column column = find(our_name);
    if (!column.present()) {
        const std::vector<std::string> names = column_names();
        const std::string near = nearest_name(our_name, names);
        throw Error(open_.place, "there is no column '" + our_name + "'",
                    "Say which column it is in the survey file, " + key_ + ".columns: {\"" + our_name + "\": \"" +
                        (near.empty() ? "their name" : near) + "\"}. " + columns_here(names));
    }
    return column;
}

Column Table::find_theirs(const std::string& name, const std::string& key) const {
    const int index = index_of(name);
    if (index == Column::absent) {
        const std::vector<std::string> names = column_names();
        throw Error(open_.place,
                    "there is no column '" + name + "', which the survey file names in " + key_ + "." + key,
                    did_you_mean(name, names) + columns_here(names));
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
        if (!description_.columns.contains(name) && index_of(name) == Column::absent) missing.push_back(name);
    }
    report_twins();
    for (const std::string& theirs : column_names()) {
        const bool known = std::any_of(our_names.begin(), our_names.end(),
                                       [&](const std::string& ours) { return lower(ours) == lower(theirs); });
        const bool used = std::any_of(description_.columns.begin(), description_.columns.end(),
                                      [&](const auto& entry) { return lower(entry.second) == lower(theirs); });
        if (known || used || theirs.size() < 4) continue;
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

Text Table::interned(const Column& column, TextPool& pool) {
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
    Text& recent = slot_of(value);
    if (recent.str() != value) recent = pool.intern(value);
    return recent;
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
    } while (!meets_condition());
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
        std::string converted = utf8_from_latin1(value);
        report(Severity::note, column, std::string(trimmed(converted)),
               "the text is not UTF-8; read as Windows-1252 (Latin-1)", "Save the file as UTF-8.");
        scratch_ = std::move(converted);
        value = scratch_;
    }
    return trimmed(value);
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
        Parsed<double> parsed = read_number(written, rule.unit, &half_range_);
        if (!parsed) {
            report(Severity::warning, column, std::string(written), std::move(parsed.message),
                   std::move(parsed.remedy));
            return std::nullopt;
        }
        if (!parsed.message.empty()) report(Severity::note, column, std::string(written), std::move(parsed.message));
        value = parsed.value;
    }
    if (!std::isfinite(*value)) {
        report(Severity::warning, column, number_text(*value), "the number is infinite",
               "Write a number or leave the cell empty.");
        return std::nullopt;
    }
    if (*value < rule.least || *value > rule.most) {
        report(Severity::warning, column, std::string(text(column)),
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
    std::string stop;
    if (owner_.present()) {
        // The caller may still use the text in scratch_.
        std::string held;
        held.swap(scratch_);
        const std::string_view written = trimmed(raw_text(owner_));
        stop = is_utf8(written) ? std::string(written) : utf8_from_latin1(written);
        scratch_.swap(held);
    }
    problems_.add({.severity = severity,
                   .source = open_.source,
                   .row = row_,
                   .field = column.name,
                   .value = std::move(value),
                   .message = std::move(message),
                   .remedy = std::move(remedy),
                   .position = std::nullopt,
                   .stop = std::move(stop)});
}

}  // namespace subcrop::io
