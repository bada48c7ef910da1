// The result layers as tables of a PostGIS database, in a schema of their own.
#pragma once

#include <filesystem>
#include <string>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

/// Throws Error if GDAL lacks the driver, the server does not answer, the database has no PostGIS, or the schema cannot
/// be made or contains other things than results.
void check_database(const DatabaseTarget& target);

/// In one transaction: a reader sees all old tables or all new ones, and does not wait. A table with the same columns
/// keeps its rights and its views; another is created again. Feature ids are those of the file. `definition` describes
/// layers and columns. Throws Error, and the database then stays as it was.
void write_to_database(const std::filesystem::path& results, const DatabaseTarget& target,
                       const io::FileDefinition& definition);

/// "PG:host=localhost dbname=survey password=..., schema subcrop".
std::string shown_database(const DatabaseTarget& target);

}  // namespace subcrop::publish
