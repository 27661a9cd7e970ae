#include "lightresponse/scene.hpp"

#include "photometry/direct.hpp"
#include "photometry/flux.hpp"
#include "photometry/synthetic.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace halflight::lightresponse {

namespace {

Polygon strip(Point2 from, Point2 to, double thickness) {
  const Vector2 along = to - from;
  const double l = length(along);
  const Vector2 side = (0.5 * thickness / l) * Vector2{-along.y, along.x};
  return {from + (-1.0 * side), to + (-1.0 * side), to + side, from + side};
}

domain::LuminousOpening luminous_opening(const domain::LuminaireType& type) {
  domain::LuminousOpening opening;
  opening.shape = type.shape == domain::LuminaireType::Shape::circle
                      ? domain::LuminousOpening::Shape::circle
                      : domain::LuminousOpening::Shape::rectangle;
  opening.length_m = type.length_m;
  opening.width_m = type.shape == domain::LuminaireType::Shape::circle ? type.length_m : type.width_m;
  return opening;
}

void add_shape_to_key(KeyBuilder& key, const domain::IntensityDistribution& distribution) {
  const domain::PhotometricData& data = distribution.data();
  key.add(static_cast<int>(data.type))
      .add(static_cast<int>(data.opening.shape))
      .add(data.opening.length_m)
      .add(data.opening.width_m)
      .add(data.opening.height_m)
      .add(std::span<const double>(data.vertical_deg))
      .add(std::span<const double>(data.horizontal_deg))
      .add(std::span<const double>(data.candela));
}

struct Solids {
  std::vector<Prism> prisms;
  std::vector<double> reflectance;
};

Solids solids_of(const domain::Space& space, const domain::Arrangement* arrangement) {
  Solids solids;
  for (const domain::Furniture& piece : space.furniture) {
    solids.prisms.push_back(
        {piece.plan, piece.bottom_m, std::min(piece.top_m, domain::height_over(space, piece.plan))});
    solids.reflectance.push_back(piece.reflectance.value_or(space.reflectances.furniture));
  }
  for (std::size_t i = 0; i < space.partitions.size(); ++i) {
    const domain::Partition& partition = space.partitions[i];
    if (!domain::stands(partition, arrangement == nullptr ? 0 : arrangement->state[i])) continue;
    Polygon plan = strip(partition.from, partition.to, partition.thickness_m);
    const double top_m = std::min(partition.height_m, domain::height_over(space, plan));
    solids.prisms.push_back({std::move(plan), 0.0, top_m});
    solids.reflectance.push_back(partition.reflectance);
  }
  return solids;
}

}  // namespace

Result<domain::IntensityDistribution> distribution_of(const domain::LuminaireType& type,
                                                      const domain::Channel& channel,
                                                      const PhotometryFiles& files) {
  const domain::PhotometryReference& reference = channel.photometry;
  if (reference.file.empty()) {
    photometry::SyntheticSpec spec;
    spec.formula = reference.formula;
    spec.parameters = reference.parameters;
    spec.lumens = channel.lumens;
    spec.input_w = channel.input_w;
    spec.opening = luminous_opening(type);
    return photometry::synthesise(spec);
  }
  const auto found = files.find(reference.key());
  if (found == files.end())
    return tl::unexpected(
        Diagnostics{{Diagnostic::Severity::missing, "", reference.file, "the photometric file was not read",
                     "place it where the project points"}});
  if (channel.lumens <= 0.0) return found->second;
  // The document's lumens win over the file's: many files are relative to a lamp that is not the one used.
  return found->second.scaled(channel.lumens / photometry::flux_lm(found->second));
}

namespace {

/// The shaft below a skylight. Outlines that are no rectangles get one of their area and proportions.
std::optional<daylight::Well> well_of(const domain::Opening& opening) {
  if (opening.kind != domain::Opening::Kind::skylight || opening.well_depth_m <= 0.0) return std::nullopt;
  Vector2 longest{};
  for (std::size_t i = 0; i < opening.plan.size(); ++i) {
    const Vector2 edge = opening.plan[(i + 1) % opening.plan.size()] - opening.plan[i];
    if (length(edge) > length(longest) * (1.0 + 1e-9)) longest = edge;
  }
  daylight::Well well;
  well.along = (1.0 / length(longest)) * longest;
  Box2 box{{0, 0}, {0, 0}};
  for (const Point2 p : opening.plan) {
    const Vector2 from_first = p - opening.plan.front();
    const double u = dot(from_first, well.along);
    const double v = cross(well.along, from_first);
    box.low = {std::min(box.low.x, u), std::min(box.low.y, v)};
    box.high = {std::max(box.high.x, u), std::max(box.high.y, v)};
  }
  const Vector2 size = box.high - box.low;
  const double scale = std::sqrt(area(opening.plan) / (size.x * size.y));
  well.length_m = scale * size.x;
  well.width_m = scale * size.y;
  well.depth_m = opening.well_depth_m;
  well.reflectance = opening.well_reflectance;
  return well;
}

}  // namespace

Vector3 outward_of_wall(const domain::Space& space, int wall) {
  const auto first = static_cast<std::size_t>(wall);
  const Vector2 along = space.floor[(first + 1) % space.floor.size()] - space.floor[first];
  return (1.0 / length(along)) * Vector3{along.y, -along.x, 0.0};  // the floor is counter-clockwise
}

std::vector<Point3> points_behind(const domain::Space& space, const domain::Opening& pane,
                                  const domain::Space& lender) {
  const std::optional<double> depth = domain::depth_behind(space, pane, lender);
  if (!depth) return {};
  // Cells of about 0.4 m: light of a room varies slowly over a pane, sun on it does not.
  constexpr double cell_m = 0.4;
  const auto cells = [](double side_m) {
    return std::clamp(static_cast<int>(std::ceil(side_m / cell_m)), 2, 12);
  };
  const int across = cells(pane.width_m);
  const int up = cells(pane.height_m);
  const Vector3 outward = outward_of_wall(space, pane.wall);
  const Vector2 along{-outward.y, outward.x};
  const Point2 corner =
      space.floor[static_cast<std::size_t>(pane.wall)] + *depth * Vector2{outward.x, outward.y};
  std::vector<Point3> points;
  for (int j = 0; j < up; ++j)
    for (int i = 0; i < across; ++i) {
      const Point2 plan = corner + (pane.offset_m + (i + 0.5) / across * pane.width_m) * along;
      points.push_back({plan.x, plan.y, pane.sill_m + (j + 0.5) / up * pane.height_m});
    }
  return points;
}

Result<SpaceScene> make_scene(const domain::Project& project, std::size_t space_index,
                              const PhotometryFiles& files, const LightOptions& options,
                              const domain::Arrangement* arrangement) {
  const domain::Space& space = project.spaces[space_index];
  const std::vector<domain::Opening> openings = domain::light_openings(space);
  Diagnostics problems;

  EnclosureShape shape;
  shape.floor = space.floor;
  shape.height_m = space.height_m;
  shape.ceiling_gradient = domain::ceiling_gradient(space);
  // Enclosure openings are numbered wall openings first; remember which document opening each one is.
  std::vector<std::size_t> wall_of;
  std::vector<std::size_t> roof_of;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const domain::Opening& opening = openings[i];
    if (opening.kind == domain::Opening::Kind::skylight) {
      shape.roof_openings.push_back({opening.plan});
      roof_of.push_back(i);
    } else {
      shape.wall_openings.push_back(
          {opening.wall, opening.offset_m, opening.sill_m, opening.width_m, opening.height_m});
      wall_of.push_back(i);
    }
  }
  Solids solids = solids_of(space, arrangement);
  shape.prisms = solids.prisms;

  double patch_m = options.patch_m;
  Result<Enclosure> enclosure = Enclosure::make(shape, patch_m);
  // A room full of furniture has at least a patch for every face, however large patches may be.
  constexpr double largest_m = 10.0;
  while (enclosure && static_cast<int>(enclosure->patches().size()) > options.most_patches &&
         patch_m < largest_m) {
    patch_m *= 1.15;
    enclosure = Enclosure::make(shape, patch_m);
  }
  if (!enclosure) return tl::unexpected(enclosure.error());

  SpaceScene scene{*enclosure, {}, {}, {}, {}};
  const auto document_opening = [&](std::int32_t index) -> const domain::Opening& {
    const auto i = static_cast<std::size_t>(index);
    return openings[i < wall_of.size() ? wall_of[i] : roof_of[i - wall_of.size()]];
  };
  for (const Surface& surface : scene.enclosure.surfaces()) {
    switch (surface.kind) {
      case SurfaceKind::floor:
        scene.reflectance.push_back(space.reflectances.floor);
        break;
      case SurfaceKind::ceiling:
        scene.reflectance.push_back(space.reflectances.ceiling);
        break;
      case SurfaceKind::wall:
        scene.reflectance.push_back(space.reflectances.walls);
        break;
      case SurfaceKind::object:
        scene.reflectance.push_back(solids.reflectance[static_cast<std::size_t>(surface.index)]);
        break;
      case SurfaceKind::opening: {
        const domain::Glazing* glazing =
            domain::find_by_id(project.glazings, document_opening(surface.index).glazing);
        scene.reflectance.push_back(glazing == nullptr ? 0.1 : glazing->reflectance_inside);
        break;
      }
    }
  }

  for (std::int32_t i = 0; i < scene.enclosure.opening_count(); ++i) {
    const domain::Opening& opening = document_opening(i);
    const Surface& surface = scene.enclosure.surfaces()[scene.enclosure.opening_surface(i)];
    const auto glazing = std::find_if(project.glazings.begin(), project.glazings.end(),
                                      [&](const domain::Glazing& g) { return g.id == opening.glazing; });
    if (glazing == project.glazings.end()) {
      problems.push_back({Diagnostic::Severity::missing, "",
                          "/spaces/" + space.id + "/openings/" + opening.id, "has no glazing",
                          "name a glazing of the project"});
      continue;
    }
    const auto glazing_index = static_cast<std::size_t>(glazing - project.glazings.begin());
    const auto shade = std::find_if(project.shades.begin(), project.shades.end(),
                                    [&](const domain::Shade& s) { return s.id == opening.shade; });
    const std::int64_t shade_index = shade == project.shades.end() ? -1 : shade - project.shades.begin();
    const Vector3 outward = -surface.frame.z;
    if (opening.kind == domain::Opening::Kind::inner_glazing) {
      const domain::Space* lender = domain::find_by_id(project.spaces, opening.borrows_from);
      if (lender == nullptr) continue;  // glass to what is no part of the project passes nothing
      scene.panes.push_back(
          {{{i}, outward, surface.area_m2, glazing_index, shade_index, opening.frame_fraction, {}},
           static_cast<std::size_t>(&opening - openings.data()),
           static_cast<std::size_t>(lender - project.spaces.data())});
      continue;
    }
    const std::optional<daylight::Well> well = well_of(opening);
    const auto same =
        std::find_if(scene.window_groups.begin(), scene.window_groups.end(), [&](const auto& g) {
          return dot(g.outward, outward) > 1.0 - 1e-9 && g.glazing == glazing_index &&
                 g.shade == shade_index && g.frame_fraction == opening.frame_fraction && g.well == well;
        });
    daylight::WindowGroup& group =
        same != scene.window_groups.end()
            ? *same
            : scene.window_groups.emplace_back(daylight::WindowGroup{
                  {}, outward, 0.0, glazing_index, shade_index, opening.frame_fraction, well});
    group.openings.push_back(i);
    group.area_m2 += surface.area_m2;
  }

  Result<std::vector<ChannelColumn>> columns = channel_columns(project, space_index, files);
  if (columns)
    scene.columns = *std::move(columns);
  else
    problems.insert(problems.end(), columns.error().begin(), columns.error().end());
  if (!problems.empty()) return tl::unexpected(std::move(problems));
  return scene;
}

Result<std::vector<ChannelColumn>> channel_columns(const domain::Project& project, std::size_t space_index,
                                                   const PhotometryFiles& files) {
  const domain::Space& space = project.spaces[space_index];
  std::vector<ChannelColumn> columns;
  Diagnostics problems;
  // Many luminaires are of few types: the light of each channel is made once.
  using Distribution = std::shared_ptr<const domain::IntensityDistribution>;
  std::map<std::pair<const domain::LuminaireType*, std::size_t>, Distribution> known;
  const auto of_channel = [&](const domain::LuminaireType& type, std::size_t channel,
                              const std::string& luminaire) -> const Distribution* {
    const auto found = known.find({&type, channel});
    if (found != known.end()) return &found->second;
    Result<domain::IntensityDistribution> made = distribution_of(type, type.channels[channel], files);
    if (!made) {
      for (Diagnostic problem : made.error()) {
        problem.where = luminaire + "/" + type.channels[channel].id + " " + problem.where;
        problems.push_back(std::move(problem));
      }
      return nullptr;
    }
    return &known
                .emplace(std::pair(&type, channel),
                         std::make_shared<const domain::IntensityDistribution>(*std::move(made)))
                .first->second;
  };
  for (std::size_t d = 0; d < project.designs.size(); ++d) {
    const domain::Design& design = project.designs[d];
    const std::map<std::string, std::string> switched = domain::switched_channels(project, design);
    for (std::size_t l = 0; l < design.luminaires.size(); ++l) {
      const domain::Luminaire& luminaire = design.luminaires[l];
      if (luminaire.space != space.id || !domain::stands_in(design, luminaire.status)) continue;
      const domain::LuminaireType* type = domain::find_by_id(project.luminaire_types, luminaire.type);
      if (type == nullptr) {
        problems.push_back({Diagnostic::Severity::missing, "", luminaire.id,
                            "its luminaire type is not known",
                            "add type \"" + luminaire.type + "\" to the project"});
        continue;
      }
      for (std::size_t c = 0; c < type->channels.size(); ++c) {
        const Distribution* distribution = of_channel(*type, c, luminaire.id);
        if (distribution == nullptr) continue;
        ChannelColumn column;
        column.design = d;
        column.luminaire = l;
        column.channel = c;
        column.id = luminaire.id + "/" + type->channels[c].id;
        column.only_switched = switched.contains(column.id);
        column.distribution = *distribution;
        column.position = luminaire.at;
        column.orientation = photometry::luminaire_frame(luminaire.rotation_deg, luminaire.tilt_deg, 0.0);
        KeyBuilder key;
        add_shape_to_key(key, *column.distribution);
        key.add(luminaire.at.x).add(luminaire.at.y).add(luminaire.at.z);
        key.add(luminaire.rotation_deg).add(luminaire.tilt_deg);
        column.key = key.key();
        columns.push_back(std::move(column));
      }
    }
  }
  if (!problems.empty()) return tl::unexpected(std::move(problems));
  return columns;
}

}  // namespace halflight::lightresponse
