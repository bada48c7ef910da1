#include "io/source_crs.hpp"

#include "io/nearest_name.hpp"

namespace subcrop::io {

geo::Crs source_crs(const SurveyFile& file, const SourceDescription& description, const Table& table) {
    const std::string own = layer_crs_wkt(table.layer());
    // Places in several zones of UTM are brought to degrees.
    if (description.crs.empty() && !description.zone.empty()) return geo::Crs("EPSG:4326");
    if (description.crs.empty() && own.empty()) {
        throw Error(table.place(), "it states no coordinate reference system",
                    "Add the key 'crs' to '" + table.key() +
                        "' in the survey file, such as \"EPSG:4326\" for degrees of a "
                        "satellite receiver.");
    }
    if (description.crs.empty()) return geo::Crs(own);
    std::optional<geo::Crs> stated;
    try {
        stated.emplace(description.crs);
    } catch (const Error& problem) {
        throw Error({.source = file.path.string(), .field = table.key() + ".crs"}, problem.message(), problem.remedy());
    }
    // Columns of coordinates are in the system the survey file states, whatever the layer's geometry is in.
    if (!own.empty() && description.x.empty()) {
        const geo::Crs layers(own);
        if (!layers.same_as(*stated)) {
            table.problems().add({.severity = Severity::warning,
                                  .source = table.source(),
                                  .row = std::nullopt,
                                  .field = {},
                                  .value = {},
                                  .message = "the layer says it is in " + layers.name() +
                                             ", the survey file that it is in " + stated->name() +
                                             "; the survey file is followed",
                                  .remedy = "Take the key 'crs' out of '" + table.key() + "' if the layer is right.",
                                  .position = std::nullopt});
        }
    }
    return *stated;
}

}  // namespace subcrop::io
