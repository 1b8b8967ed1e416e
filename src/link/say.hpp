// How messages about the link say limits.
#pragma once

#include <cstdint>
#include <string>

namespace burstloom {

inline constexpr const char* kExportForCoil =
    "export a player for this coil and load it (burstloom export --to player)";

inline std::string us(std::int64_t ticks, std::int64_t tick_hz) {
  std::string text = std::to_string(static_cast<double>(ticks) * 1e6 / static_cast<double>(tick_hz));
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text + " µs";
}

}  // namespace burstloom
