// The player's own guard (firmware-out/player/guard.c), run on this machine.
#pragma once

#include <optional>
#include <vector>

#include "encode.hpp"

extern "C" {
#include "guard.h"
}

namespace burstloom::table_detail {

class GuardRun {
 public:
  explicit GuardRun(const CompiledLimits& limits);
  GuardRun(const GuardRun&) = delete;
  GuardRun& operator=(const GuardRun&) = delete;

  /// The on-time that the chip would make of this burst, 0 for none. Asked in order of time, from 0 on.
  [[nodiscard]] Tick ask(const Burst& burst);
  /// As the player does now and then while nothing plays.
  void rest(Tick now);

 private:
  std::vector<guard_window> windows_;
  std::vector<std::uint32_t> slots_;
  guard guard_;
};

/// The first burst that the guard on the chip would keep back or cut, if there is one.
[[nodiscard]] std::optional<std::size_t> first_refused(const BurstStream& stream,
                                                       const CompiledLimits& limits);

}  // namespace burstloom::table_detail
