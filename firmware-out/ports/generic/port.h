/* A chip of your own: what the player's portable part and the table need to know of it. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#if BURST_TABLE_TICK_HZ != 2000000
#error "change this when your timer counts other ticks, and the target's tick_hz with it"
#endif
#if BURST_TABLE_ON_MAX_TICKS > 16000
#error "the longest on-time that this port was written for is 8 ms"
#endif

/* How long before a rise hardware_make_burst wants to be called: to wake up, look at the inputs and arm both
 * edges, and for other interrupts. 40 us are enough for eight bits at 16 MHz. */
#define HARDWARE_LEAD_TICKS 80

/* A step of reading a table of voices takes no longer than this: measured on eight bits at 16 MHz, which are
 * slower. */
#define HARDWARE_READ_TICKS 170

void hardware_begin(void);

#endif
