/* The limits compiled into the player under test, around a table that the test swaps while the player runs. */
#ifndef BURST_TABLE_UNDER_TEST_H
#define BURST_TABLE_UNDER_TEST_H
#include "../../../firmware-out/host/burst_table.h"
#undef BURST_TABLE_ON_MAX_TICKS
#undef BURST_TABLE_GAP_MIN_TICKS
#undef BURST_TABLE_REST_MS
#define BURST_TABLE_ON_MAX_TICKS 100UL
#define BURST_TABLE_GAP_MIN_TICKS 200UL
#define BURST_TABLE_REST_MS 50UL
/* At most 2 000 ticks in 10 ms, and 40 starts in 10 ms. */
#define BURST_GUARD_STRETCH_TICKS 0UL
#define BURST_GUARD_MEMORY_TICKS 24000UL
#define BURST_GUARD_SLOTS 20
#define BURST_GUARD_WINDOWS \
  BURST_GUARD_WINDOW(2000UL, 2000UL, 24000UL, 10, 0, 0) BURST_GUARD_WINDOW(2000UL, 40UL, 24000UL, 10, 10, 1)
#endif
