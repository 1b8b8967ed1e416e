/* What is compiled into the player of the link's tests. */
#ifndef BURST_TABLE_H
#define BURST_TABLE_H
#define BURST_TABLE_TICK_HZ 2000000UL
#define BURST_TABLE_ON_MAX_TICKS 100UL
#define BURST_TABLE_GAP_MIN_TICKS 200UL
#define BURST_TABLE_REST_MS 50UL
/* No window: the guard has tests of its own (tests/tables). */
#define BURST_GUARD_STRETCH_TICKS 0UL
#define BURST_GUARD_MEMORY_TICKS 200UL
#define BURST_GUARD_SLOTS 0
#define BURST_GUARD_WINDOWS
#define BURST_LINK_BAUD 115200UL
#endif
