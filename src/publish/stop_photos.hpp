// Photographs and their stops.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "io/photo_reader.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

struct StopPhoto {
    std::size_t stop = 0;  ///< index into Survey::stops
    io::Photo photo;
};

/// By name first: a photograph whose name begins with the name of a stop, such as "01-05 pit.jpg", belongs to this
/// stop. Else by place: it belongs to the nearest stop within the distance in the survey file. A photograph without a
/// match becomes a problem. In the order of the stops, then of names.
std::vector<StopPhoto> match_photos(const io::SurveyFile& file, const model::Survey& survey, ProblemLog& problems);

/// Small copies for a page, of the first `max_thumbnails`.
std::vector<StopPicture> pictures_of(const std::vector<StopPhoto>& photos);

/// "data:image/jpeg;base64,..."
std::string jpeg_address(std::string_view jpeg);

/// Maximum number of small copies in a page.
inline constexpr std::size_t max_thumbnails = 500;

}  // namespace subcrop::publish
