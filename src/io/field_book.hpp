// Stops and horizons as in their sources, before anything is transformed to the working projection.
#pragma once

#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/text.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {

/// The stop table. `unit_seen`, `evidence`, `carried` and `stops` run parallel.
struct StopTable {
    std::vector<model::Stop> stops;        ///< positions in the source's own system; position_sd_m as stated or default
    std::vector<Text> unit_seen;           ///< as written
    std::vector<model::Horizon> horizons;  ///< from the stops' own columns; ranges are set in `stops`
    std::vector<model::EvidenceValues> evidence;
    std::vector<model::CarriedColumn> carried;
    std::vector<std::string> left_out;  ///< ids of stops without a usable position
    std::optional<geo::Crs> crs;
    std::string source;
    std::string unit_seen_column = "unit_seen";  ///< their name of it
    model::ColumnNames stop_names;               ///< as the layer calls our columns
    model::ColumnNames horizon_names;
    Place place;
};

/// Reads the stops named by the survey file. Throws Error if the source or its coordinates cannot be read at all.
StopTable read_stops(const SurveyFile& file, TextPool& texts, ProblemLog& problems);

/// A table of horizons and those they belong to.
struct HorizonTable {
    const SourceDescription& description;
    std::string key;                 ///< of the survey file: "horizons"
    std::string owner_column;        ///< our name of it: "stop"
    std::string owner;               ///< as problems call one of them: "stop"
    std::size_t first = 0, end = 0;  ///< those it may name, of `StopTable::stops`
};
struct HorizonTableRead {
    std::string source;        ///< as problems name it
    model::ColumnNames names;  ///< as the layer calls our columns
    bool any_row = false;
};

/// Reads such a table and attaches its rows to the stops, from the top down.
HorizonTableRead read_horizons(const SurveyFile& file, const HorizonTable& wanted, TextPool& texts, StopTable& table,
                               ProblemLog& problems);

/// Keeps only the stops whose flag is set, with everything that runs parallel to them.
void keep_stops(StopTable& table, const std::vector<std::uint8_t>& keep);

}  // namespace subcrop::io
