// How to draw each result layer: OGC Styled Layer Descriptors (02-070, version 1.0.0), in the table `layer_styles` of
// results.gpkg and as files beside it.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

struct LayerStyle {
    std::string layer;
    std::string title;
    std::string sld;  ///< XML
};

/// One for each layer of the file with a geometry that is meant for viewing.
std::vector<LayerStyle> layer_styles(const model::Survey& survey, const io::FileDefinition& file);

/// styles/<layer>.sld in the folder; they are put in place with the others.
void write_styles(const std::filesystem::path& folder, const std::vector<LayerStyle>& styles,
                  io::PendingFiles& together);

}  // namespace subcrop::publish
