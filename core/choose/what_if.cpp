#include "choose/what_if.hpp"

#include <algorithm>
#include <memory>

#include <fmt/format.h>

namespace halflight::choose {

namespace {

/// A bench with the inputs that it refers to.
struct Bench {
  sim::StudyInputs inputs;
  sim::DesignTrials trials;

  Bench(const sim::StudyInputs& like, const domain::Project& project, const sim::StudyOptions& options,
        std::size_t space, const Context& context, lightresponse::StageLog& log)
      : inputs{.project = project,
               .library = like.library,
               .code_rules = like.code_rules,
               .photometry_files = like.photometry_files,
               .weather_years = like.weather_years,
               .normals = like.normals,
               .content_keys = {}},
        trials(inputs, options, space, context, log) {}
};

}  // namespace

Result<std::vector<WhatIf>> what_if(const sim::StudyInputs& inputs, std::size_t space,
                                    std::span<const domain::Project* const> variants, bool light_stays,
                                    const sim::StudyOptions& options, const Context& context,
                                    lightresponse::StageLog& log) {
  std::vector<WhatIf> found(variants.size());
  std::vector<std::unique_ptr<Bench>> benches(light_stays ? std::min<std::size_t>(1, variants.size())
                                                          : variants.size());
  for (std::size_t b = 0; b < benches.size(); ++b) {
    benches[b] = std::make_unique<Bench>(inputs, *variants[b], options, space, context, log);
    const std::string& why_dark = benches[b]->trials.why_dark();
    if (!why_dark.empty())
      return tl::unexpected(Diagnostics{{Diagnostic::Severity::error, "", fmt::format("/spaces/{}", space),
                                         why_dark, "see what validate says of the room"}});
    // A bench whose light is of one variant alone is not kept.
    if (light_stays) continue;
    context.report("variants", b, variants.size());
    found[b].trial = benches[b]->trials.through_years(*variants[b]);
    benches[b].reset();
  }
  if (light_stays)
    context.executor.for_each(variants.size(), [&](std::size_t i) {
      context.check_cancelled();
      found[i].trial = benches.front()->trials.through_years(*variants[i]);
    });
  for (std::size_t i = 0; i < variants.size(); ++i)
    for (const domain::Design& design : variants[i]->designs) {
      if (design.role != domain::Design::Role::proposal) continue;
      for (const domain::Luminaire& luminaire : design.luminaires) {
        if (luminaire.space != variants[i]->spaces[space].id || !domain::stands_in(design, luminaire.status))
          continue;
        if (const auto* type = domain::find_by_id(variants[i]->luminaire_types, luminaire.type))
          for (const domain::Channel& channel : type->channels) found[i].connected_w += channel.input_w;
      }
      break;
    }
  context.report("variants", variants.size(), variants.size());
  return found;
}

}  // namespace halflight::choose
