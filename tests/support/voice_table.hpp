// A whole table of voices of a stream.
#pragma once

#include <limits>

#include "../../src/tables/encode.hpp"
#include "../../src/tables/voice_table.hpp"

namespace burstloom::table_detail {

inline std::optional<Bytes> voice_table(const BurstStream& stream, const std::vector<Wish>& wishes,
                                        const CompiledLimits& limits) {
  const auto programs = voice_programs(wishes);
  if (!programs) return {};
  const auto data = voice_data(stream, wishes, *programs, std::numeric_limits<std::size_t>::max());
  if (!data) return {};
  return finished_table(Encoding::voices, *data, stream, limits);
}

}  // namespace burstloom::table_detail
