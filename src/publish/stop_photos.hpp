// Photographs and the stops that they show.
#pragma once

#include <cstddef>
#include <string>
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

/// By name first: a photograph whose name begins with that of a stop, such as "01-05 pit.jpg", is of this stop. Else by
/// place: of the nearest stop within the distance that the survey file states. What matches neither becomes a problem.
/// In the order of the stops, then of names.
std::vector<StopPhoto> match_photos(const io::SurveyFile& file, const model::Survey& survey, ProblemLog& problems);

/// Small copies for a page, of the first `max_thumbnails`.
std::vector<StopPicture> pictures_of(const std::vector<StopPhoto>& photos);

/// "data:image/jpeg;base64,..." of a small copy; empty where it cannot be made.
std::string thumbnail_address(const io::Photo& photo);

/// A page holds so many small copies at most.
inline constexpr std::size_t max_thumbnails = 500;

}  // namespace subcrop::publish
