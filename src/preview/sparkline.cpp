#include "burstloom/preview/sparkline.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace burstloom {

std::string sparkline(std::span<const double> values, double low, double high, bool blocks) {
  constexpr std::array<const char*, 8> kBlocks{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  constexpr std::array<const char*, 8> kLetters{"_", ".", ":", "-", "=", "+", "*", "#"};
  const auto& steps = blocks ? kBlocks : kLetters;
  std::string line;
  for (const double value : values) {
    const double part = high > low ? std::clamp((value - low) / (high - low), 0.0, 1.0) : 0.0;
    // A full block is at the limit, not just near it.
    line += std::isnan(value) ? " "
                              : steps[static_cast<std::size_t>(part * static_cast<double>(steps.size() - 1))];
  }
  return line;
}

}  // namespace burstloom
