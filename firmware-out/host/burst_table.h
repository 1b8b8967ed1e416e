/* In place of a table that is compiled in: one that a program on a PC points the reader or the player at.
 * Each thread has its own. */
#ifndef BURST_TABLE_H
#define BURST_TABLE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif
struct host_table {
  const uint8_t* bytes;
  uint32_t size, on_max, gap_min, rest_ms; /* ticks */
};
extern __thread struct host_table host_table;
#ifdef __cplusplus
}
#endif

#define BURST_TABLE_BYTE(at) (host_table.bytes[at])
#define BURST_TABLE_BYTES host_table.size
#define BURST_TABLE_ANY_SIZE
#define BURST_TABLE_TICK_HZ 2000000UL
#define BURST_TABLE_ON_MAX_TICKS host_table.on_max
#define BURST_TABLE_GAP_MIN_TICKS host_table.gap_min
#define BURST_TABLE_REST_MS host_table.rest_ms
#endif
