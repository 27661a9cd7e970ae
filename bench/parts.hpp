#pragma once
#include <string_view>

namespace halflight::bench {

void rays();
void products();
void light();
void years();
void service();
void proposals();
/// Runs `program` once more for each building, so that each has its own peak of memory.
void growth(const char* program);
/// What such a process does; prints seconds.
void study_building(std::string_view building);

}  // namespace halflight::bench
