// The one clock of playing live on this machine: ports, threads and link tell time by it.
#pragma once

#include <chrono>

namespace burstloom {

/// Seconds since some moment in the past; never goes back.
[[nodiscard]] inline double live_now_s() noexcept {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace burstloom
