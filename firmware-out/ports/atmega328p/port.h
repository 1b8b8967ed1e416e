/* ATmega328P at 16 MHz: what the player's portable part and the table need to know of this chip. */
#ifndef BURST_PORT_H
#define BURST_PORT_H

#include "table.h"

#if BURST_TABLE_TICK_HZ != 2000000
#error \
    "Timer1 of a 16 MHz ATmega328P counts 2 000 000 ticks a second (prescaler 8): export the table at that rate"
#endif
#if BURST_TABLE_ON_MAX_TICKS > 16000
#error "on-times above 8 ms would keep other interrupts out for too long: this port refuses them"
#endif

/* The alarm rings this long before a rise (48 us). Most of it is needed to wake up, look at the inputs and
 * arm the edge; the rest is for other interrupts: up to 10 us they cost no burst. */
#define HARDWARE_LEAD_TICKS 96

/* A step of reading a table of voices takes no longer than this (measured). */
#define HARDWARE_READ_TICKS 170

/* A player on a link receives bytes also while it waits for a burst's edges with interrupts off. */
#ifdef BURST_LINK_BAUD
#include "serial_port.h"
#define HARDWARE_WHILE_WAITING() serial_take()
#else
#define HARDWARE_WHILE_WAITING() ((void)0)
#endif

void hardware_begin(void);

#endif
