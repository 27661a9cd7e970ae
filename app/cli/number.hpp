#pragma once
#include <charconv>
#include <cmath>
#include <optional>
#include <string_view>

namespace halflight::cli {

/// The whole of `text` as a finite number, with a point for the decimals whatever the machine's language.
template <class Number>
std::optional<Number> parse_number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  Number value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  if constexpr (std::is_floating_point_v<Number>) {
    if (!std::isfinite(value)) return std::nullopt;
  }
  return value;
}

}  // namespace halflight::cli
