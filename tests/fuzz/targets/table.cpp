// A pulse table on its way to a chip, damaged: every burst that the player's reader gives is inside the
// limits compiled in, and reading ends.
#include "target.hpp"

extern "C" {
#include "table.h"
}

namespace {

constexpr std::uint32_t kOnMax = 100, kGapMin = 200;
// Far more steps than an input of some kilobytes has entries.
constexpr int kMostSteps = 200'000;

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using burstloom::fuzz::require;
  if (size < TABLE_HEADER_BYTES) return 0;  // the exporter writes no such table
  host_table = {data, static_cast<std::uint32_t>(size), kOnMax, kGapMin, 0};
  table_check check;
  table_check_begin(&check);
  while (table_check_some(&check, 64) == 0) {
  }
  (void)table_fault(&check);
  table_reader reader;
  if (table_reader_begin(&reader) == 0) return 0;
  bool is_first = true;
  for (int step = 0; step < kMostSteps; ++step) {
    table_burst burst{};
    const std::uint8_t told = table_reader_step(&reader, &burst);
    if (told == TABLE_END || told == TABLE_BROKEN) return 0;
    if (told == TABLE_MORE) continue;
    require(burst.on <= kOnMax, "no burst is longer than compiled in");
    require(is_first || burst.gap >= kGapMin, "no gap is shorter than compiled in");
    is_first = false;
  }
  return 0;
}
