#pragma once
#include "service/json.hpp"
#include "sim/live_room.hpp"

namespace halflight::service {

/// A room's light as the pages draw it: the field between its points, contours, levels, light on the tasks.
/// `with_points`: also the values at the points of calculation.
Json light_json(const sim::LiveRoom& room, const sim::RoomLight& light, bool with_points);

/// {field, contours} of light on the plan of a space.
Json plan_json(const results::PlanGrid& plan, const domain::Space& space);

/// A whole year of a quantity in bytes, five minutes each, by the clock.
Json year_json(const sim::LiveRoom& room, sim::YearQuantity quantity);

/// Why everything stands as it does at an instant.
Json why_json(const sim::LiveRoom& room, Seconds civil);

/// Places for a photosensor.
Json places_json(const sim::PhotosensorPlaces& places);

}  // namespace halflight::service
