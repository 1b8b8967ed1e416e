// The worked examples of docs/reference/table-format.md, read by the player's own reader.
#include <gtest/gtest.h>

#include "burstloom/stream/burst.hpp"
#include "support/page_bytes.hpp"

extern "C" {
#include "table.h"
}

namespace burstloom {
namespace {

std::vector<Burst> played(const Bytes& table) {
  host_table = {table.data(), static_cast<std::uint32_t>(table.size()), 200, 200, 0};
  table_check check;
  table_check_begin(&check);
  while (table_check_some(&check, 255) == 0) {
  }
  EXPECT_EQ(table_fault(&check), TABLE_SOUND);
  std::vector<Burst> bursts;
  table_reader reader{};
  EXPECT_NE(table_reader_begin(&reader), 0);
  Tick end = 0;
  table_burst burst{};
  for (int result = table_reader_step(&reader, &burst); result == TABLE_MORE || result == TABLE_BURST;
       result = table_reader_step(&reader, &burst)) {
    if (result == TABLE_MORE) continue;
    bursts.push_back({end + burst.gap, burst.on});
    end = bursts.back().end();
  }
  return bursts;
}

TEST(table_format_page, its_tables_play_what_it_says) {
  const auto tables = test::bytes_on_page("table-format.md");
  ASSERT_EQ(tables.size(), 2u);
  EXPECT_EQ(played(tables[0]), (std::vector<Burst>{{4545, 80}, {9090, 200}, {10'000, 200}}));
  EXPECT_EQ(played(tables[1]), (std::vector<Burst>{{4545, 80}, {9092, 80}, {13'636, 80}}));
}

}  // namespace
}  // namespace burstloom
