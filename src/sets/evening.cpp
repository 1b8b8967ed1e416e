#include "evening.hpp"

#include <cmath>

namespace burstloom {

Tick ticks_of_pause(double seconds, std::int64_t tick_hz) {
  return static_cast<Tick>(std::ceil(seconds * static_cast<double>(tick_hz) - 1e-6));
}

HeatStart in_whole_degrees(const HeatStart& start) {
  return {std::ceil(start.sink_c), std::ceil(start.case_c)};
}

}  // namespace burstloom
