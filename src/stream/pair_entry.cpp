#include "burstloom/stream/pair_entry.hpp"

#include "burstloom/stream/leb128.hpp"

namespace burstloom {

void append_pair_entry(std::vector<std::uint8_t>& out, const Burst& burst, const Burst& before) {
  const bool names_on = burst.on != before.on;
  append_leb128(out, static_cast<std::uint64_t>(2 * (burst.start - before.end()) + (names_on ? 1 : 0)));
  if (names_on) append_leb128(out, static_cast<std::uint64_t>(burst.on));
}

}  // namespace burstloom
