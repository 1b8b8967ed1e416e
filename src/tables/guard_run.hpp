// The player's own guard (firmware-out/player/guard.c), run on this machine.
#pragma once

#include <optional>

#include "encode.hpp"

namespace burstloom::table_detail {

/// The first burst that the guard on the chip would keep back or cut, if there is one.
[[nodiscard]] std::optional<std::size_t> first_refused(const BurstStream& stream,
                                                       const CompiledLimits& limits);

}  // namespace burstloom::table_detail
