/* A table that a test swaps while the player runs, in place of the one that is compiled in (under 64 KiB). */
#ifndef BURST_TABLE_H
#define BURST_TABLE_H
#include <stdint.h>
extern const uint8_t* host_table;
extern uint32_t host_table_bytes;
#define BURST_TABLE_BYTE(at) (host_table[at])
#define BURST_TABLE_BYTES host_table_bytes
#define BURST_TABLE_TICK_HZ 2000000UL
#define BURST_TABLE_ON_MAX_TICKS 100UL
#define BURST_TABLE_GAP_MIN_TICKS 200UL
#define BURST_TABLE_REST_MS 50UL
/* At most 2 000 ticks in 10 ms, and 20 starts in 10 ms. */
#define BURST_GUARD_STRETCH_TICKS 0UL
#define BURST_GUARD_MEMORY_TICKS 24000UL
#define BURST_GUARD_SLOTS 20
#define BURST_GUARD_WINDOWS \
  BURST_GUARD_WINDOW(2000UL, 2000UL, 24000UL, 10, 0, 0) BURST_GUARD_WINDOW(2000UL, 40UL, 24000UL, 10, 10, 1)
#endif
