#include "publish/shapefile.hpp"

#include <ogrsf_frmts.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <memory>
#include <optional>
#include <ostream>

#include "io/gdal_support.hpp"
#include "io/pending_file.hpp"
#include "io/run_clock.hpp"
#include "io/sqlite_file.hpp"
#include "publish/csv_text.hpp"
#include "publish/short_names.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;

/// Characters of a number in the table, as in GDAL, with sign and point.
constexpr int number_width = 24;
constexpr int max_decimals = 15;

/// The date in the table's header.
std::string day_of_writing() { return io::utc_text(io::run_time(), "%Y-%m-%d"); }

/// Size of a column: the bytes of its longest text, or the digits before the point of its largest number.
struct Need {
    std::size_t bytes = 1;
    int digits = 1;
    std::size_t cut = 0;
};

std::vector<Need> needs_of(OGRLayer& layer) {
    OGRFeatureDefn& definition = *layer.GetLayerDefn();
    std::vector<Need> needs(static_cast<std::size_t>(definition.GetFieldCount()));
    for (const auto& feature : layer) {
        for (int i = 0; i < definition.GetFieldCount(); ++i) {
            if (!feature->IsFieldSetAndNotNull(i)) continue;
            Need& need = needs[static_cast<std::size_t>(i)];
            if (definition.GetFieldDefn(i)->GetType() == OFTReal) {
                const double value = std::abs(feature->GetFieldAsDouble(i));
                if (value >= 10)
                    need.digits = std::max(need.digits, static_cast<int>(std::floor(std::log10(value))) + 2);
            } else if (definition.GetFieldDefn(i)->GetType() == OFTString) {
                const std::size_t bytes = std::string_view(feature->GetFieldAsString(i)).size();
                need.bytes = std::max(need.bytes, std::min(bytes, longest_shapefile_text));
                if (bytes > longest_shapefile_text) ++need.cut;
            }
        }
    }
    return needs;
}

void add_field(OGRLayer& made, const OGRFieldDefn& like, const std::string& name, const Need& need) {
    OGRFieldDefn field(name.c_str(), like.GetType());
    switch (like.GetType()) {
        case OFTString:
            field.SetWidth(static_cast<int>(need.bytes));
            break;
        case OFTReal:
            field.SetWidth(number_width);
            field.SetPrecision(std::clamp(number_width - 2 - need.digits, 0, max_decimals));
            break;
        default:
            field.SetSubType(like.GetSubType());
    }
    made.CreateField(&field);
}

const io::LayerDefinition* layer_of(const io::FileDefinition& definition, std::string_view name) {
    const auto found = std::find_if(definition.layers.begin(), definition.layers.end(),
                                    [&](const auto& layer) { return layer.name == name; });
    return found != definition.layers.end() ? &*found : nullptr;
}

}  // namespace

const std::vector<std::string> shapefile_parts{".shx", ".dbf", ".prj", ".cpg"},
    shapefile_indexes{".qix", ".sbn", ".sbx"};

std::string cut_text(const std::string& text, std::size_t bytes) {
    assert(bytes >= 3);
    if (text.size() <= bytes) return text;
    std::size_t end = bytes - 3;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;  // not within a character
    return text.substr(0, end) + "...";
}

void ShapefileFolder::write(OGRLayer& layer) {
    const std::string name = layer.GetName();
    const fs::path target = folder_ / (name + ".shp");
    auto pending = std::make_unique<io::PendingFile>(target, shapefile_parts, shapefile_indexes);
    io::PendingFile& file = *pending;
    io::GdalMessages messages;
    const auto check = [&](bool good) {
        if (!good || messages.failures() > 0) throw io::write_failure(target, messages.last(), 0);
    };
    OGRFeatureDefn& definition = *layer.GetLayerDefn();
    std::vector<std::string> names{"fid"};
    for (int i = 0; i < definition.GetFieldCount(); ++i) names.emplace_back(definition.GetFieldDefn(i)->GetNameRef());
    const std::vector<std::string> shorter = short_names(names);
    const std::vector<Need> needs = needs_of(layer);
    {
        GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("ESRI Shapefile");
        check(driver != nullptr);
        const GDALDatasetUniquePtr data(driver->Create(file.temporary().c_str(), 0, 0, 0, GDT_Unknown, nullptr));
        check(data != nullptr);
        CPLStringList options;
        options.SetNameValue("ENCODING", "UTF-8");
        options.SetNameValue("DBF_DATE_LAST_UPDATE", day_of_writing().c_str());
        options.SetNameValue("2GB_LIMIT", "YES");
        OGRLayer* made = data->CreateLayer(file.temporary().stem().c_str(), layer.GetSpatialRef(), layer.GetGeomType(),
                                           options.List());
        check(made != nullptr);
        add_field(*made, OGRFieldDefn("fid", OFTInteger64), shorter[0], {});
        for (int i = 0; i < definition.GetFieldCount(); ++i)
            add_field(*made, *definition.GetFieldDefn(i), shorter[static_cast<std::size_t>(i) + 1],
                      needs[static_cast<std::size_t>(i)]);
        check(made->GetLayerDefn()->GetFieldCount() == definition.GetFieldCount() + 1);
        for (const auto& feature : layer) {
            OGRFeature row(made->GetLayerDefn());
            row.SetField(0, static_cast<GIntBig>(feature->GetFID()));
            for (int i = 0; i < definition.GetFieldCount(); ++i) {
                if (!feature->IsFieldSetAndNotNull(i))
                    row.SetFieldNull(i + 1);
                else if (definition.GetFieldDefn(i)->GetType() == OFTString)
                    row.SetField(i + 1, cut_text(feature->GetFieldAsString(i), longest_shapefile_text).c_str());
                else
                    row.SetField(i + 1, feature->GetRawFieldRef(i));
            }
            row.SetGeometry(feature->GetGeometryRef());
            check(made->CreateFeature(&row) == OGRERR_NONE);
        }
        data->FlushCache(true);
        check(true);
    }
    check(true);
    file.lock();  // whatever was written of it goes when this ends without a rename
    together_.take(std::move(pending));
    for (std::size_t i = 0; i < names.size(); ++i)
        columns_.push_back({name, shorter[i], names[i], i > 0 ? needs[i - 1].cut : 0});
}

void ShapefileFolder::write_columns() {
    together_.write(folder_ / "columns.csv", [&](std::ostream& out) {
        out << "layer,short_name,column,description,texts_cut\r\n";
        for (const Column& column : columns_) {
            std::string description =
                column.name == "fid" ? "Feature id in results.gpkg, to which other layers refer." : "";
            if (const io::LayerDefinition* layer = layer_of(definition_, column.layer)) {
                for (const io::FieldDefinition& field : layer->fields)
                    if (field.name == column.name) description = field.description;
            }
            out << csv_text(column.layer) << ',' << csv_text(column.short_name) << ',' << csv_text(column.name) << ','
                << csv_text(description) << ',' << column.cut << "\r\n";
        }
    });
}

std::vector<CutTexts> ShapefileFolder::cut_texts() const {
    std::vector<CutTexts> all;
    for (const Column& column : columns_)
        if (column.cut > 0) all.push_back({"shapefile", column.layer, column.name, column.cut});
    return all;
}

}  // namespace subcrop::publish
