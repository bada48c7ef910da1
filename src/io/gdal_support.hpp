// GDAL without surprises: registered once, silent on standard error, its reasons kept for our own messages.
#pragma once

#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <cstdint>
#include <optional>
#include <string>
#include <utility>

#include "subcrop/core/error.hpp"
#include "subcrop/core/export.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// Registers GDAL's drivers, once a process.
void start_gdal();

/// While it lives, what GDAL reports in this thread is kept here instead of being printed, and GDAL fetches nothing
/// from a network.
class GdalMessages {
public:
    GdalMessages();
    ~GdalMessages();
    GdalMessages(const GdalMessages&) = delete;
    GdalMessages& operator=(const GdalMessages&) = delete;

    std::size_t failures() const { return failures_; }
    /// The last failure or, where there was none, the last warning; empty: none. One line, no trailing full stop.
    std::string last() const;
    /// The address that GDAL wanted to fetch meanwhile, which it was not let; empty: none.
    const std::string& address() const { return address_; }
    void note_address(std::string address) { address_ = std::move(address); }
    void clear();

private:
    static void CPL_STDCALL receive(CPLErr kind, CPLErrorNum number, const char* message);
    std::size_t failures_ = 0;
    std::string last_failure_;
    std::string last_warning_;
    std::string address_;
};

/// A layer opened for reading, with the dataset that owns it.
struct OpenLayer {
    GDALDatasetUniquePtr dataset;
    OGRLayer* layer = nullptr;
    std::string source;      ///< as problems name it: the file, with the layer after a colon where it has several
    Place place;             ///< for errors
    std::string text_table;  ///< path of the file where it is a CSV; else empty
    std::uint64_t text_table_start = 0;  ///< byte at which its row of names begins
    bool has_row_of_names = false;       ///< as CSV and spreadsheets have
    std::size_t names_in_row = 1;        ///< row of the columns' names
};

/// Opens what a source describes. Throws Error with GDAL's reason, or with the layers there are when the one named is
/// not among them.
OpenLayer open_layer(const SurveyFile& file, const SourceDescription& description);

/// A raster opened for reading. Throws Error as `open_layer` does.
GDALDatasetUniquePtr open_raster(const SurveyFile& file, const SourceDescription& description);

/// WKT of a coordinate reference system, WKT 2; empty where it is none.
std::string crs_wkt(const OGRSpatialReference* reference);

/// WKT of the layer's own coordinate reference system; empty: it states none.
std::string layer_crs_wkt(OGRLayer& layer);

/// "polygon", "line"... as a person says it.
std::string plain_geometry_name(OGRwkbGeometryType type);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
