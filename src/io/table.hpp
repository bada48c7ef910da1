// One layer read row by row, its columns under our names and its cells cleaned; what cannot be read becomes a problem.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <tuple>
#include <utility>
#include <vector>

#include "io/gdal_support.hpp"
#include "io/plain_rows.hpp"
#include "io/text_values.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/text.hpp"
#include "subcrop/model/column_names.hpp"

namespace subcrop::io {

/// A column found in the layer, or not.
struct Column {
    static constexpr int absent = -1;
    static constexpr int feature_id = -2;
    int index = absent;
    OGRFieldType type = OFTString;
    std::string name;         ///< as the layer names it; problems name it so
    Unit unit = Unit::none;   ///< of its numbers, where it is not ours
    bool keeps_dash = false;  ///< a dash alone may be a word of the notes

    bool present() const { return index != absent; }
};

class Table {
public:
    /// `key`: the survey file's key of the source ("stops"), for remedies.
    Table(OpenLayer open, const SourceDescription& description, std::string key, ProblemLog& problems);

    /// By our name: as `columns` of the survey file maps it (Error where the layer lacks it), else the standard name.
    Column find(const std::string& our_name) const;
    /// The same of a horizon's column in the stop table, for one of several horizons side by side: "h#_top" of the
    /// survey file, else "h1_top_cm", "top_cm_1" or "top_cm1".
    Column find_numbered(const std::string& our_name, std::size_t number) const;
    /// As `find`, but its absence is an Error.
    Column require(const std::string& our_name) const;
    /// By the layer's own name; its absence is an Error that names `key` of the survey file.
    Column find_theirs(const std::string& name, const std::string& key) const;
    /// The same, its absence being no matter.
    Column find_if_there(const std::string& name) const;
    /// Warns of columns that look like a slip for one of `our_names` that was not found.
    void report_near_misses(const std::vector<std::string>& our_names) const;

    bool next();
    std::int64_t row() const { return row_; }
    const OGRGeometry* geometry();
    /// The geometry where it is a plain point or plain polygons that can be read without GDAL; else nothing, and
    /// `geometry` tells.
    std::optional<Point> plain_point() const { return plain_row() ? plain_->point() : std::nullopt; }
    std::vector<Polygon> plain_polygons() const { return plain_row() ? plain_->polygons() : std::vector<Polygon>(); }

    bool has(const Column& column) const;
    /// Trimmed, valid UTF-8, good until the next call; empty: absent. A dash alone is absent.
    std::string_view text(const Column& column);
    /// As `text`, kept in `pool`, which must be the same in every call.
    Text interned(const Column& column, TextPool& pool) { return kept(column, pool, false); }
    /// As `interned`; but 'n/a', 'nd', '?' and the like are no value, told once a column.
    Text described(const Column& column, TextPool& pool) { return kept(column, pool, true); }
    /// As it stands in the cell, with the unit if that is stated elsewhere: "3 ft".
    std::string as_written(const Column& column);
    /// `instead`: what is done where the number is outside the rule's limits, for the problem.
    std::optional<double> number(const Column& column, const NumberRule& rule, std::string_view instead = {});
    /// A depth, and half of the range that was written for it.
    std::optional<double> depth(const Column& column, const NumberRule& rule, float& spread);
    std::optional<bool> yes_no(const Column& column);

    /// How a cell was read; told once a column, with the first cell.
    void remark_reading(const Column& column, std::string value, const std::string& message) {
        remark(Remark::reading, column, std::move(value), message);
    }
    /// Adds a problem of this row.
    void report(Severity severity, const Column& column, std::string value, std::string message,
                std::string remedy = {});
    /// Problems of a row name its stop or borehole, from this column.
    void name_owner_by(const Column& column) { owner_ = column; }

    OGRLayer& layer() const { return *open_.layer; }
    const std::string& source() const { return open_.source; }
    const Place& place() const { return open_.place; }
    const std::string& key() const { return key_; }
    std::vector<std::string> column_names() const;
    /// "Columns here: a, b.", and what to do if they are the title lines of a spreadsheet.
    std::string columns_here() const;
    /// What the layer calls those of our columns that were found.
    const model::ColumnNames& their_names() const { return their_names_; }
    ProblemLog& problems() const { return problems_; }

private:
    Column column_at(int index) const;
    /// `shown`: what problems of several columns call it; empty: its name.
    Column found_as(const std::string& our_name, Column column, const std::string& shown = {}) const;
    /// A column named as ours, but in another unit: "top_ft" for "top_cm"; absent if there are none or several.
    int index_in_other_unit(const std::string& our_name) const;
    /// The unit of her numbers, as the survey file or the column's name states it.
    void settle_unit(const std::string& our_name, Column& column) const;
    /// -1: none.
    int index_of(const std::string& name) const;
    Text kept(const Column& column, TextPool& pool, bool words_may_be_empty);
    std::string_view raw_text(const Column& column);
    /// Warns where a column that is read has a namesake that is not.
    void report_twins() const;
    /// Whether this column was found by its name with another unit.
    bool found_by_unit(const std::string& theirs) const;
    /// Warns of a column named as one of ours without its unit; false: it is none.
    bool report_without_unit(const std::string& theirs, const std::vector<std::string>& missing) const;
    /// Columns nobody found are not worth decoding.
    void skip_unused_columns();
    /// Reads the description's condition. Throws Error where it is none.
    void compile_condition();
    bool meets_condition() { return !condition_ || condition_->Evaluate(feature_.get()) != 0; }
    /// Whether the row is one of the title lines of a spreadsheet, or the row of names itself.
    bool above_names() const {
        return !text_rows_ && open_.names_in_row > 1 && feature_id() <= static_cast<std::int64_t>(open_.names_in_row);
    }
    /// The next row, through SQLite where that can be; false: there is none.
    bool next_row();
    bool plain_row() const { return plain_ && !feature_; }
    /// What is true of many cells of a column, and is told once.
    enum class Remark : std::uint8_t { not_utf8, no_value, reading };
    struct Remarked {
        std::size_t count = 0;
        std::int64_t row = 0, last_row = 0;
        std::string field, value, stop, message;
    };
    /// `message`: of a reading. Those that differ by their figures alone are of one kind.
    void remark(Remark kind, const Column& column, std::string value, const std::string& message = {});
    void tell_remarks();
    /// Whose row it is, by `owner_`.
    std::string owner();
    /// The number of the row just read, as Problem::row has it.
    std::int64_t row_as_seen();
    std::int64_t feature_id() const { return feature_ ? feature_->GetFID() : plain_->id(); }

    GdalMessages messages_;  // first, so that it outlives the dataset
    OpenLayer open_;
    const SourceDescription& description_;
    std::string key_;
    ProblemLog& problems_;
    std::unique_ptr<OGRFeatureQuery> condition_;  ///< evaluated here, so that no database is handed a text to run
    std::unique_ptr<PlainRows> plain_;
    OGRFeatureUniquePtr feature_;
    std::size_t rows_read_ = 0;
    std::int64_t row_ = 0;
    bool text_rows_ = false;                  ///< rows by number, the headings being row 1; else by feature id
    std::int64_t first_id_ = 0;               ///< added to ids that a format counts from 0
    bool ids_may_be_made_ = false;            ///< the format has ids in some files and none in others
    std::vector<std::int64_t> empty_before_;  ///< as scan_csv returns it
    std::size_t empty_passed_ = 0;
    Column owner_;
    double half_range_ = 0;  ///< of the number read last
    std::string scratch_;
    std::map<std::tuple<Remark, int, std::string>, Remarked> remarks_;
    mutable std::set<int> used_;
    mutable model::ColumnNames their_names_;
    std::vector<Text> recent_ = std::vector<Text>(1024);  ///< by a quick hash: most cells repeat a recent one
};

}  // namespace subcrop::io
