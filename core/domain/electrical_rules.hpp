#pragma once
#include "domain/project.hpp"

namespace halflight::domain {

/// The electrical rules that a project names; else those in force beside one of its energy codes; else the
/// first that stand beside none. Null where the library has no such.
const ElectricalRules* electrical_rules_of(const Project& project, const Library& library);

}  // namespace halflight::domain
