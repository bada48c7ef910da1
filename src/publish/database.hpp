// The result layers as tables of a PostGIS database, in a schema of their own.
#pragma once

#include <filesystem>
#include <string>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

/// Throws Error where GDAL lacks the driver, the server does not answer, the database has no PostGIS, the schema may
/// not be made or holds other things than results.
void check_database(const DatabaseTarget& target);

/// In one transaction: a reader sees the tables as they were or all of the new ones, and does not wait. A table whose
/// columns are the same keeps its rights and the views upon it; another is made anew. Feature ids are those of the
/// file. `definition` describes layers and columns. Throws Error, leaving the database as it was.
void write_to_database(const std::filesystem::path& results, const DatabaseTarget& target,
                       const io::FileDefinition& definition);

/// "PG:host=localhost dbname=survey password=..., schema subcrop".
std::string shown_database(const DatabaseTarget& target);

}  // namespace subcrop::publish
