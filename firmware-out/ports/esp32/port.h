/* ESP32: what the player's portable part and the table need to know of this chip. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#if BURST_TABLE_TICK_HZ != 2000000
#error \
    "timer and RMT of this port count 2 000 000 ticks a second (80 MHz / 40): export the table at that rate"
#endif
#if BURST_TABLE_ON_MAX_TICKS > 16000
#error "on-times above 8 ms would keep the program waiting for too long: this port refuses them"
#endif

/* hardware_make_burst is called this long before a rise (50 us): code comes from a flash cache, so it needs
 * room. */
#define HARDWARE_LEAD_TICKS 100

/* A step of reading a table of voices takes no longer than this: measured on eight bits at 16 MHz, which are
 * slower. */
#define HARDWARE_READ_TICKS 170

void hardware_begin(void);
/* Plays for ever: to be called from a task that has a core to itself. */
void burst_player_run(void);

#endif
